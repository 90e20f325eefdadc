"""Every command on the drawer, as it is typed; the program itself is called, without starting it each time."""

from __future__ import annotations

import json

import pytest
from tests.demo_day import demo_files

from pourwright.doors.cli.main import run as run_command


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    (tmp_path / "studio.toml").write_text((demo_files() / "studio.toml").read_text("utf-8"), "utf-8")
    monkeypatch.setenv("POURWRIGHT_STUDIO", str(tmp_path))
    monkeypatch.delenv("POURWRIGHT_BOOKS", raising=False)

    def run(*words, code=0, text=False):
        asked = [str(one) for one in words] + ([] if text else ["--json"])
        assert run_command(asked) == code
        printed = capsys.readouterr().out
        return printed if text else json.loads(printed)

    run.folder = tmp_path
    return run


def codes(answer):
    return [one["code"] for one in answer["findings"]]


def test_the_drawer_is_taken_over_charged_from_signed_and_shut(run):
    assert len(run("stock", "open", "--by", "Teacher")["lots"]) == 6
    assert codes(run("stock", "open", "--by", "Teacher", code=1))[-1] == "books.opened-already"
    assert "of Student A" in run("charge", "--alloy", "sterling-925", "--mass", "60 g", text=True).replace(
        "\n      ", " "
    )
    assert codes(run("stock", "sign", "L-0005", "--why", "given", "--by", " ", code=2)) == ["doors.wrong-use"]
    run("stock", "sign", "L-0005", "--why", "given to the class", "--by", "Student A")
    assert "L-0005" not in json.dumps(run("charge", "--alloy", "sterling-925", "--mass", "60 g")["findings"])
    run("book", "pour", "2026-12-05-F1", "--use", "L-0001:20 g", "--crucible", "CR-1", "--casting", "P01:A:12 g",
        "--button", "7.8 g", "--by", "T")  # fmt: skip
    assert run("stock", "odd-melt", "2026-12-05-F1", "--why", "slag", "--by", "T")["shut"][0] == "crucible:CR-1"
    run("stock", "shut", "L-0002", "--why", "odd colour", "--by", "T")
    assert "lot:L-0002: odd colour (T," in run("stock", "stops", text=True)
    run("stock", "release", "L-0002", "--why", "only tarnish", "--by", "T")
    passport = run("stock", "passport", "P01", text=True)
    assert "It is 925 or finer with a probability of 100.0" in passport


def test_a_charge_takes_every_limit(run):
    limits = {"--for": "Student A", "--new": "30 %", "--melts": "2", "--old": "3:50 %", "--window": "Zn:0 %..1 %",
              "--burns": "Cu:1 %", "--over": "1 g", "--least": "0.5 g", "--likely": "99 %", "--scale": "0.01 g",
              "--crucible": "CR-9", "--studio": run.folder}  # fmt: skip
    typed = [word for name, value in limits.items() for word in (name, value)]
    found = run("charge", "--alloy", "sterling-925", "--mass", "60 g", "--doubtful", *typed)
    assert found["meets_frac"] >= 0.99
    assert found["lost_g"] > 0
    lots = [one["lot"] for one in found["weigh_to_aim"]]
    assert sum(one["mass_g"] for one in found["weigh_to_aim"]) >= 60.0
    assert (
        run("charge", "--alloy", "sterling-925", "--mass", "5 g", "--lot", lots[0], "--lot", "L-0002")["total_g"] == 5.0
    )
    infeasible = run("charge", "--alloy", "sterling-925", "--mass", "2 kg", code=1)
    assert [one["limit"] for one in infeasible["obstacles"]] == ["mass"]
    assert infeasible["weigh_to_aim"] == []


def test_metal_is_bought_assayed_handed_out_and_refined(run):
    terms = ("--mass", "500 g", "--from", "dealer", "--cost", "540.00", "--day", "2026-12-01")
    bought = run("stock", "buy", "--metal", "fine-silver-999", *terms, "--by", "T")
    assert bought["per_g"] == "1.0800"
    run("stock", "price", "copper", "0.012", "--from", "2026-12-01")
    assert len(run("stock", "prices")["prices"]) == 2
    refused = run(
        "stock", "add", "--metal", "scrap", "--mass", "9 g", "--from", "A", "--holds", "Cd:1 %", "--by", "T", code=1
    )
    assert codes(refused) == ["books.lot-poison"]
    run("stock", "add", "--metal", "scrap", "--mass", "40 g", "--from", "A", "--owner", "A", "--by", "T")
    run("stock", "assay", "L-0002", "--office", "assay office", "--sample", "0.5 g", "--by", "T")
    (run.folder / "report.pdf").write_bytes(b"%PDF found 926.2")
    entered = run("stock", "result", "A-0001", "--fineness", "926.0..926.4", "--on", "2026-12-03", "--certificate",
                  run.folder / "report.pdf", "--by", "T")  # fmt: skip
    assert entered["result"]["low_permille"] == 926.0
    assert list(run.folder.glob(f"records/*/{entered['result']['sha256']}.pdf"))
    assert "926.0" in run("stock", "assays", text=True)
    run("stock", "hand-out", "L-0002", "--mass", "5 g", "--to", "A", "--why", "taken home", "--by", "T")
    run("stock", "supply", "powder", "--per-pour", "560 g", "--reorder-at", "2 kg", "--reorder-to", "10 kg")
    run("stock", "refill", "powder", "2.5 kg", "--by", "T")
    run(
        "book",
        "pour",
        "2026-12-05-F1",
        "--use",
        "L-0002:30 g",
        "--casting",
        "P01:A:20 g",
        "--button",
        "9.7 g",
        "--by",
        "T",
    )
    assert codes(run("book", "pour", "2026-12-05-F2", "--use", "L-0001:1 g", "--button", "1 g", "--supply", "powder",
                     "--by", "T", code=1)) == ["doors.pour-form"]  # fmt: skip
    run(
        "book",
        "pour",
        "2026-12-05-F2",
        "--use",
        "L-0001:1 g",
        "--button",
        "1 g",
        "--supply",
        "powder:0.2 kg",
        "--by",
        "T",
    )
    pour = next(one for one in run("book", "movements")["movements"] if one["pour"] == "2026-12-05-F2")
    run("book", "reverse", pour["mark"], "--why", "never poured", "--by", "T")
    assert run("stock", "supplies", "--short")["supplies"][0]["to_order"] == 8060.0
    run("stock", "take", "powder", "0.1 kg", "--by", "T")
    assert run("stock", "count", "powder", "1.8 kg", "--why", "counted", "--by", "T")["held"] == 1800.0
    run(
        "stock",
        "sweep",
        "--refiner",
        "refiner",
        "--mass",
        "84 g",
        "--from",
        "2020-01-01",
        "--to",
        "2100-01-01",
        "--by",
        "T",
    )
    settled = run(
        "stock", "settle", "S-0001", "--recovered", "Ag:0.2 g", "--paid", "5.00", "--charged", "2.00", "--by", "T"
    )
    assert [(one["owner"], one["money"]) for one in settled["owners"]] == [("A", "3.00")]
    assert run("stock", "sweeps")["sweeps"][0]["settled"]
    assert set(run("book", "balance")["sums_mg"].values()) == {0}
