"""The steps of a piece of work as the look shows them: head, segments, list and strip."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from clubsetup.plots.segments import Segment, segments


@dataclass(frozen=True, slots=True)
class StepShown:
    """A step: where it leads, and what is said of it ('3 of 4', 'done')."""

    order: int
    name: str
    url: str
    said: str = ""
    is_done: bool = False
    off: int = 0
    retake: str = ""  # what is to be taken again: 'toe', '2 to retake'

    @property
    def segment(self) -> Segment:
        """The loudest of what there is to say."""
        if self.retake:
            return Segment.RETAKE
        if self.off:
            return Segment.OFF
        return Segment.DONE if self.is_done else Segment.TODO


def draw_segments(steps: Sequence[StepShown], here: StepShown | None = None) -> SafeString:
    """The segments of the steps as SVG."""
    place = steps.index(here) if here else None
    return SafeString(segments([step.segment for step in steps], place))
