"""A notifiable disease suspected at a pond stops a course and each of its doses."""

from __future__ import annotations

from dataclasses import replace

from store.courses.cautions.before import cautions, cautions_before
from store.courses.cautions.suspected import suspicion_cautions
from tests.courses.caution_plans import FORMALIN_STEP, GOOD, codes, planned

SUSPECTED = replace(GOOD, things=frozenset({"suspected_khv"}))


def test_a_course_at_a_suspected_pond_is_stopped_first_of_all() -> None:
    stopped = cautions(planned(FORMALIN_STEP, water=SUSPECTED))
    assert stopped[0].code == "suspected_khv"
    assert stopped[0].level == "stop"
    for part in ("sample before any treatment", "competent authority", "ocal law"):
        assert part in stopped[0].said, part
    assert "confirmed" not in stopped[0].said.casefold()
    assert "suspected_khv" not in codes(cautions(planned(FORMALIN_STEP)))


def test_each_dose_is_stopped_by_the_water_as_it_is_now() -> None:
    plan = planned(FORMALIN_STEP)
    step = plan.steps[0]
    now = cautions_before(plan, step, step.doses[0], SUSPECTED)
    assert now[0].code == "suspected_khv"
    planned_then = planned(FORMALIN_STEP, water=SUSPECTED)
    later = cautions_before(planned_then, step, step.doses[0], GOOD)
    assert "suspected_khv" not in codes(later)


def test_both_diseases_can_be_suspected_and_nothing_else_is() -> None:
    both = replace(GOOD, things=frozenset({"suspected_khv", "suspected_svc", "suspected_costia"}))
    assert [one.code for one in suspicion_cautions(both)] == ["suspected_khv", "suspected_svc"]
