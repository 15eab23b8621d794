"""Medicated feed: for which fish, what goes in, and at once what is weighed and what they get."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from textual.app import App
from textual.binding import Binding, BindingType

from tui.screens.courses.course_plan import PlanCourseScreen
from tui.screens.courses.course_said import without_hidden
from tui.screens.courses.feed_fields import (
    feed_asked,
    feed_fields,
    feed_fitting,
    feed_hints,
    medicine_fields,
)
from tui.screens.courses.feed_said import said_feed

if TYPE_CHECKING:
    from typing import Any

    from textual.content import Content

    from store.courses.kept.feed_proposal import FeedProposal
    from store.courses.kept.proposal import Ground, Proposal
    from tui.widgets.fields import Field


class FeedScreen(PlanCourseScreen):
    """The form of a course whose agents go into the feed.

    Dismissed with the key of the course, or None.

    Parameters
    ----------
    pond
        Key of the pond.
    follows, begun
        As for a course of baths.
    """

    HEAD, FIRST, DRAFT, MOST_STEPS = "Medicated feed", "First fed", "feed", 3
    CSS_PATH = ["../sheets/course_plan.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    QUESTION = "What is weighed into the feed, and what does each fish get of it?"
    ABOUT = (
        "Say what goes in, as a dose for the fish or as it goes into the feed, and how many fish "
        "there are. Below stands at once the feed that is needed, what is weighed for each batch, "
        "and what each kilogram of fish gets a day beside what is published; apart by more than "
        "twice it is a stop. Fish that do not eat get nothing: it asks. F6 writes the mix sheet "
        "with its label. Nothing here prescribes: the vet decides."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "second", "more", key_display="F4", id="feed.second",
                tooltip="Another substance in the same feed, up to three"),
        Binding("f7", "less", "less", key_display="F7", id="feed.less",
                tooltip="Without the substance of this field; what was typed for it is kept"),
        Binding("f6", "mix", "sheet", key_display="F6", id="feed.mix",
                tooltip="Write the mix sheet and the label to a file: text, Markdown or PDF"),
    ]  # fmt: skip

    def form_fields(self, found: Sequence[str]) -> tuple[Field, ...]:
        """The fields of a feed."""
        return feed_fields(found, self.steps, self._known)

    def more_fields(self, place: int) -> list[Field]:
        """The fields of one more substance in the feed."""
        return medicine_fields(place, self._known)

    def names_asked(self, values: Mapping[str, str]) -> frozenset[str]:
        """Names of the fields that are asked for, as far as the others stand now."""
        return feed_asked(values, self.steps, self._known)

    def that_fits(self, values: Mapping[str, str], place: int) -> dict[str, str]:
        """The days that are published for the main substance."""
        return feed_fitting(values, place, self._known)

    def hinted(self, values: Mapping[str, str]) -> dict[str, str | None]:
        """What is published, by the field that it is said at."""
        found = self.ground.found if self.ground is not None else ()
        return {**feed_hints(values, self.steps, found, self._known), "rate": None, "fish": None}

    def proposed_at(self, values: Mapping[str, str], proposal: Proposal) -> dict[str, str]:
        """The rate that the temperature lets expect, and what the fish weigh."""
        from store.water.given import figures

        ration = proposal.plan.steps[0].ration
        if ration is None:
            return {}
        said = {}
        if "=" in ration.biomass_how:
            said["fish"] = f"= {figures(ration.biomass_kg)} kg"
        if not values["rate"].strip():
            said["rate"] = f"proposed: {figures(ration.rate_percent)} % a day"
        return said

    def reckoned(self, ground: Ground, values: Mapping[str, str]) -> FeedProposal:
        """The feed that follows from what was typed; runs beside the screen."""
        from store.courses.kept.feed_proposal import propose_feed

        texts = without_hidden(values, self.names_asked(values))
        return propose_feed(ground, texts, self.steps)

    def said_whole(self, proposal: Proposal, ground: Ground, width: int) -> Content:
        """Everything that a vet looks at before it is given."""
        from store.courses.kept.feed_proposal import FeedProposal

        assert isinstance(proposal, FeedProposal)
        return said_feed(proposal, ground, width)

    def action_mix(self) -> None:
        """The mix sheet of what stands in the form."""
        from tui.screens.courses.feed_sheet import MixSheetScreen

        if self.proposal is None:
            self.notify(
                self._trouble or "The pond is being read.", title="No feed to mix yet",
                severity="warning", markup=False,
            )  # fmt: skip
            return
        self.app.push_screen(MixSheetScreen(self.pond, self.proposal.plan))


def plan_a_feed(app: App[Any], pond: UUID) -> None:
    """Plan a medicated feed for a pond; what was kept is opened."""

    def kept(key: UUID | None) -> None:
        from tui.screens.courses.course import CourseScreen

        if key is not None:
            app.push_screen(CourseScreen(key))

    app.push_screen(FeedScreen(pond), kept)
