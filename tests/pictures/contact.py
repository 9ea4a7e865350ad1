"""One contact sheet: pictures of one page side by side, long ones folded into columns."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

SCALE = 0.6
GAP, HEAD = 16, 26
COLUMN = 1500  # CSS pixels of a page in one column of the sheet
MOST_COLUMNS = 4
WIDEST = 2600
COLOURS = 256  # a page has few; a sheet of them stays small


Column = tuple[str, Image.Image]


@dataclass(frozen=True)
class Shot:
    """One picture, in CSS pixels."""

    caption: str
    png: bytes


def save_sheet(title: str, shots: Sequence[Shot], path: Path) -> None:
    """Writes them as one PNG."""
    lines = _lines([column for shot in shots for column in _fold(shot)])
    width = max(GAP + sum(picture.width + GAP for _, picture in line) for line in lines)
    heights = [max(picture.height for _, picture in line) + HEAD + GAP for line in lines]
    sheet = Image.new("RGB", (width, HEAD + sum(heights)), "#b9bfc6")
    pen = ImageDraw.Draw(sheet)
    pen.text((GAP, 4), title, fill="black", font=ImageFont.load_default(17))
    top = HEAD
    for line, height in zip(lines, heights, strict=True):
        left = GAP
        for caption, picture in line:
            pen.text((left, top + 6), caption, fill="#1c2733", font=ImageFont.load_default(13))
            sheet.paste(picture, (left, top + HEAD))
            left += picture.width + GAP
        top += height
    sheet.quantize(COLOURS).save(path, optimize=True)


def _lines(columns: list[Column]) -> list[list[Column]]:
    """As many beside each other as have room."""
    lines: list[list[Column]] = [[]]
    for column in columns:
        used = sum(picture.width + GAP for _, picture in lines[-1])
        if lines[-1] and used + column[1].width > WIDEST:
            lines.append([])
        lines[-1].append(column)
    return lines


def _fold(shot: Shot) -> list[Column]:
    page = Image.open(io.BytesIO(shot.png)).convert("RGB")
    parts = []
    for top in range(0, page.height, COLUMN)[:MOST_COLUMNS]:
        part = page.crop((0, top, page.width, min(top + COLUMN, page.height)))
        size = (round(part.width * SCALE), round(part.height * SCALE))
        caption = shot.caption if not top else f"from {top} px"
        if top == COLUMN * (MOST_COLUMNS - 1) and page.height > top + COLUMN:
            caption += f" of {page.height}, cut off"
        parts.append((caption, part.resize(size, Image.Resampling.LANCZOS)))
    return parts
