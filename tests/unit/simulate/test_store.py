"""The cache of runs is deletable and does not grow without end."""

import os

from tests.unit.simulate.made_up_flask import fake_engine, made_up_job

from pourwright.simulate.conditions import best_case
from pourwright.simulate.run import run_flask
from pourwright.simulate.store import run_store, trim


def test_a_damaged_run_counts_as_none(tmp_path):
    store = run_store(tmp_path, "0" * 64)
    store.fields.mkdir(parents=True)
    (store.fields / "zarr.json").write_text("{ not json", "utf-8")
    assert store.load() is None
    assert store.load_state() is None


def test_the_runs_used_longest_ago_go_first(tmp_path):
    job = made_up_job()
    runs = [
        run_flask(job, best_case(job.conditions), side_mm, fake_engine, tmp_path).store for side_mm in (1.0, 1.2, 1.4)
    ]
    for age, one in enumerate(runs):
        os.utime(one, (1000.0 - age, 1000.0 - age))
    each = sum(part.stat().st_size for part in runs[0].rglob("*") if part.is_file())
    assert trim(tmp_path, 10**9) == ()
    assert trim(tmp_path, int(1.1 * each))[-1] == runs[2]
    assert runs[0].exists()
    assert not runs[2].exists()
