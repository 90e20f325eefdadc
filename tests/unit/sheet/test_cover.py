"""First pages: extraction windows, people, what must lie ready, what stops."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from tests.unit.sheet.sample_plan import at, fig

from pourwright.core.findings import Finding, Level
from pourwright.prepare.day_plan import Pouring
from pourwright.sheet import cover


def _entry(plan, start, minutes, what="prepare.timeline-melt", extraction=True):
    model = plan.timeline[0]
    end = start + timedelta(minutes=minutes)
    return replace(
        model, start=start, end=end, what=what, params={"charge": "1 g", "number": "1"}, extraction=extraction
    )


def test_extraction_windows_close_together_are_one(plan):
    entries = [_entry(plan, at(14, 0), 10), _entry(plan, at(14, 12), 10), _entry(plan, at(15, 30), 5),
               _entry(plan, at(14, 20), 60, extraction=False)]  # fmt: skip
    windows = cover.joined_windows(entries)
    assert [(start, end) for start, end, _ in windows] == [(at(14, 0), at(14, 22)), (at(15, 30), at(15, 35))]
    assert windows[0][2] == ["melting"]


def test_smoke_powder_and_quench_each_have_a_window(plan):
    reasons = "; ".join(row["why"] for row in cover.extraction_windows(plan))
    assert all(word in reasons for word in ("mixing powder", "wax smoke", "melting", "quench"))


def test_role_nobody_has_is_left_to_write_in(plan):
    rows = {row["role"]: row["names"] for row in cover.people(plan)}
    assert rows["Pourer"] == "Tomás Ferrow"
    assert rows["Caller"] == "Ασπασία Quill"
    assert rows["Helper"] == "", "the timeline needs a helper and nobody is named"


def test_what_lies_ready_adds_up(plan):
    much = {row["what"]: row["much"] for row in cover.put_out(plan)}
    assert much["Investment powder plain"] == "1\u2009133\u00a0g"
    assert much["Metal, lot L-0042"] == "111.42\u00a0g"


def test_head_of_the_sheet_says_what_stops(plan):
    stop = Finding("prepare.throw-mark-moves-in", Level.STOP, "x")
    assert cover.stop_line(plan.findings) == ""
    assert cover.stop_line([stop]).startswith("One thing")
    assert cover.stop_line([stop, replace(stop, level=Level.ASK)]).startswith("2 things")


def test_cover_counts_what_is_not_as_last_time(plan, full_plan):
    assert cover.cover(plan)["unlike"] == ""
    assert cover.cover(full_plan)["unlike"].startswith("2 things are not as they were on Saturday 14 November 2026")
    one = replace(full_plan, differences=full_plan.differences[:1])
    assert cover.cover(one)["unlike"].startswith("One thing")


def test_cautions_stand_by_short_name_in_the_day_by_the_clock(plan):
    rows = [row for day in cover.by_the_clock(plan) for row in day["rows"]]
    melt = next(row for row in rows if row["what"].startswith("Melt"))
    assert melt["cautions"] == ["nothing wet or cold", "clothing", "eye shade"]


def test_each_day_stands_under_its_date(plan):
    assert [day["date"] for day in cover.by_the_clock(plan)] == ["Friday 4 December 2026", "Saturday 5 December 2026"]


def test_the_end_of_the_last_pour_stands_over_the_flasks_with_what_is_left_of_the_class(plan):
    assert cover.done_line(plan) == ""
    pouring = Pouring(fig(24, "min"), fig(24, "min"), at(14, 24), proven=True)
    assert cover.done_line(replace(plan, pouring=pouring)) == "last one done by 14:24"
    early = replace(pouring, done_by=at(15), spare_min=fig(36, "min"))
    assert (
        cover.done_line(replace(plan, pouring=early)) == "last one done by 14:24, 36\u00a0min before the end at 15:00"
    )
    late = replace(pouring, done_by=at(14), spare_min=fig(-24, "min"))
    assert cover.done_line(replace(plan, pouring=late)) == "last one done by 14:24, 24\u00a0min past the end at 14:00"
