"""Findings say what, where and how to mend."""

from pourwright.core.findings import Finding, Level, in_order, stops

FAULT = Finding("doors.fault", Level.STOP, "here", {"reference": "a1", "log": "x.log"})


def test_the_sentences_come_from_the_catalogue_with_their_blanks_filled():
    plain = FAULT.as_json()
    assert plain["code"] == "doors.fault"
    assert "a1" in plain["what"]
    assert "x.log" in plain["do_next"]
    assert plain["why"] == ""


def test_only_stop_and_ask_stop():
    assert stops([FAULT])
    assert stops([Finding("doors.fault", Level.ASK, "")])
    assert not stops([Finding("doors.fault", Level.LOOK, ""), Finding("doors.fault", Level.NOTE, "")])


def test_the_most_serious_comes_first_and_equal_ones_keep_their_order():
    note, look, stop = (Finding("doors.fault", level, str(level)) for level in (Level.NOTE, Level.LOOK, Level.STOP))
    other = Finding("doors.fault", Level.NOTE, "second")
    assert in_order([note, other, look, stop]) == [stop, look, note, other]
