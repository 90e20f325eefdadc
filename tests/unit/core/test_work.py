"""A child process cannot hurt its parent."""

from pourwright.core.work import Limits, run_module


def test_a_child_that_ends_well():
    assert run_module("timeit", ["-n", "1", "pass"], Limits()).outcome == "done"


def test_a_child_that_fails_is_reported_not_raised():
    result = run_module("there_is_no_such_module", [], Limits())
    assert result.outcome == "failed"
    assert "there_is_no_such_module" in result.stderr_tail


def test_a_child_that_takes_too_long_is_ended():
    result = run_module("timeit", ["-n", "1", "-r", "1", "while True: pass"], Limits(wall_s=0.5))
    assert result.outcome == "out of time"


def test_a_child_that_wants_too_much_memory_is_refused():
    result = run_module("timeit", ["-n", "1", "-r", "1", "bytearray(2 * 1024**3)"], Limits(memory_mib_count=512))
    assert result.outcome == "out of memory"
