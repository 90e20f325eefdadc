import json

import pytest

from pourwright.doors.service.charge import as_json, as_text, charge

KEYS = {"weigh", "total_g", "fineness_permille", "fineness_low_permille", "aim_permille", "weigh_to_aim"}
USES = ("fine-silver-999", "copper")


def test_the_document_holds_what_to_weigh():
    document = json.loads(json.dumps(as_json(charge("sterling-925", "120 g", USES, "0.01 g"))))
    assert document["weigh"] == [
        {"lot": "fine-silver-999", "mass_g": 111.1111},
        {"lot": "copper", "mass_g": 8.8889},
    ]
    assert document["total_g"] == 120.0
    assert document["fineness_permille"] == 925.0
    assert document["fineness_low_permille"] == pytest.approx(924.958, abs=1e-3)
    assert document["aim_permille"] >= document["aim_low_permille"] >= 925.0
    assert sum(one["mass_g"] for one in document["weigh_to_aim"]) == pytest.approx(120.0)


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("sterlin", "120 g", USES, "0.01 g"), "doors.charge-alloy"),
        (("sterling-925", "120", USES, "0.01 g"), "doors.charge-amount"),
        (("sterling-925", "120 g", USES, "0.01"), "doors.charge-amount"),
        (("sterling-925", "120 g", USES, "0 g"), "prepare.alloy-scale"),
        (("sterling-925", "-3 g", USES, "0.01 g"), "prepare.alloy-mass"),
        (("sterling-925", "120 g", ("solder:1 g@650", *USES), "0.01 g"), "prepare.lot-solder"),
        (("sterling-925", "120 g", USES, "1 g"), "prepare.alloy-scale-coarse"),
        (("sterling-925", "120 g", (), "0.01 g"), "prepare.alloy-no-lots"),
    ],
)
def test_a_refusal_is_a_document_with_the_same_keys(arguments, code):
    answer = charge(*arguments)
    document = as_json(answer)
    assert document.keys() >= KEYS
    assert document["weigh"] == document["weigh_to_aim"] == []
    assert document["total_g"] is None and document["aim_permille"] is None
    assert code in [one["code"] for one in document["findings"]]
    assert as_text(answer) == ""


def test_all_that_is_wrong_is_said_at_once():
    answer = charge("sterling-925", "120", ("fine-silver", "scrap:40 g"), "0.01")
    assert len(answer.findings) == 4


def test_the_table_puts_what_to_weigh_first():
    text = as_text(charge("sterling-925", "130 g", ("scrap:40 g@900", *USES), "0.1 g"))
    row = next(line for line in text.splitlines() if line.strip().startswith("fine-silver-999"))
    assert row.split() == ["fine-silver-999", "84.4", "g", "84.3343", "g"]
    assert "0.05" in text


def test_a_worst_case_just_below_the_standard_never_reads_as_the_standard():
    text = as_text(charge("sterling-925", "5000 g", USES, "0.01 g"))
    worst = next(line for line in text.splitlines() if "worst case" in line)
    assert "924.99" in worst


def test_bronze_has_no_mark_to_keep():
    text = as_text(charge("tin-bronze-c90300", "400 g", ("tin-bronze-c90300",), "0.1 g"))
    assert "no mark to keep" in text


def test_grain_of_the_alloy_is_safe_on_any_scale():
    answer = charge("sterling-925", "120 g", ("sterling-925",), "1 g")
    assert answer.result is not None
    assert "all the same" in as_text(answer)


def test_the_same_question_has_the_same_answer():
    first = as_json(charge("sterling-925", "130 g", ("scrap:40 g@880..900", *USES), "0.01 g"))
    assert first == as_json(charge("sterling-925", "130 g", ("scrap:40 g@880..900", *USES), "0.01 g"))
