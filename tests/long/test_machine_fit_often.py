"""Two hundred made-up arms: the intervals of the fit hold the truth nine times in ten, within a binomial's bounds."""

from scipy.stats import binom
from tests.verification.test_machine_fit import hits_of


def test_two_hundred_fitted_arms_hold_the_truth_at_the_stated_rate():
    low, high = binom.interval(0.999, 200, 0.9)
    for name, count in hits_of(200, seed=17).items():
        assert low <= count <= high, (name, count)
