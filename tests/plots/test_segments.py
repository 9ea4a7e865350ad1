"""The steps of a piece of work as segments: each state by its shape."""

from xml.etree import ElementTree as ET

from clubsetup.plots.segments import GAP, WIDTH, Segment, segments

STEPS = [Segment.DONE, Segment.OFF, Segment.RETAKE, Segment.DONE, Segment.TODO]


def test_each_step_has_its_shape_and_they_fill_the_width() -> None:
    root = ET.fromstring(segments(STEPS, here=3))
    assert root.attrib["aria-hidden"] == "true"
    assert [each.get("class") for each in root] == [
        *("done", "done", "bad", "again", "here", "todo"),
    ]
    tall = {each.get("class"): each.get("height") for each in root if each.tag == "rect"}
    assert tall == {"done": "6", "again": "6", "here": "10", "todo": "6"}
    last = root[-1]
    end = float(last.attrib["x"]) + float(last.attrib["width"])
    assert abs(end - (WIDTH - GAP / 2 - 0.5)) < 0.02


def test_outlined_and_filled_are_told_apart_without_colour() -> None:
    root = ET.fromstring(segments(STEPS))
    filled = {each.get("class"): each.get("fill") != "none" for each in root}
    assert filled == {"done": True, "bad": True, "again": False, "todo": False}


def test_no_steps_are_an_empty_drawing() -> None:
    assert len(ET.fromstring(segments([]))) == 0
