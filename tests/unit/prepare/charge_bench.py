"""Small makers of inputs for the charge tests."""

from pourwright.core.figure import given
from pourwright.matter.alloys import alloy
from pourwright.prepare.charge.alloying import alloy_charge
from pourwright.prepare.charge.lots import lot_from_text


def figure(value, unit, low=None, high=None):
    return given(value, unit, "test", low, high)


def lots_of(alloy_id, *texts):
    lots = []
    for text in texts:
        lot, findings = lot_from_text(text, alloy(alloy_id))
        assert lot is not None, [one.what for one in findings]
        lots.append(lot)
    return tuple(lots)


def charge_of(alloy_id, mass_g, *texts, division_g=0.01, error_g=None, scrap_most_frac=0.5):
    error_g = division_g / 2 if error_g is None else error_g
    return alloy_charge(
        alloy(alloy_id), mass_g, lots_of(alloy_id, *texts), error_g, division_g, scrap_most_frac, "here"
    )


def masses(weighings):
    return {one.lot: one.mass_g for one in weighings}


def codes(findings):
    return [one.code for one in findings]
