"""Safety prompts."""

import pytest

from pourwright.core.errors import DataError
from pourwright.matter.safety import prompt, prompt_ids, prompts, topics


def test_every_prompt_stands_in_exactly_one_topic():
    listed = [one.id for topic in topics() for one in prompts(topic)]
    assert sorted(listed) == sorted(prompt_ids())
    assert len(set(listed)) == len(listed) == 72


def test_a_figure_of_the_law():
    limit = prompt("sil.al")
    assert (limit.value, limit.unit, limit.strictness) == (25, "microgram/m3", "regulation")
    assert limit.citation.startswith("29 CFR")


def test_law_that_was_not_read_is_from_memory():
    assert prompt("sil.resp").kind == "memory"
    assert prompt("gas.acet").kind == "standard"


def test_every_prompt_of_the_law_names_it():
    assert all(one.citation for one in map(prompt, prompt_ids()) if one.strictness == "regulation")


def test_a_wrong_topic_names_the_nearest():
    with pytest.raises(DataError, match="did you mean silica"):
        prompts("silca")


def test_a_wrong_prompt_names_the_nearest():
    with pytest.raises(DataError, match=r"did you mean quench\.scald"):
        prompt("quench.scld")
