"""Drawn in place of photos: no picture of a real car belongs in a demo."""

import io

from PIL import Image, ImageDraw, ImageFont

SIZE = (1200, 900)


def piece_drawn(label: str, marked: str) -> bytes:
    """A block of lead on a frame tube, with what is written on it, as JPEG."""
    picture = Image.new("RGB", SIZE, "#8d9aa3")
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, 560, 1200, 700), fill="#3b4650", outline="#1d2329", width=6)
    pen.rounded_rectangle((270, 260, 930, 580), 26, fill="#c9ccd0", outline="#50565c", width=10)
    for x in (340, 860):
        pen.ellipse((x - 34, 490, x + 34, 558), fill="#70767c", outline="#30353a", width=8)
        pen.regular_polygon((x, 524, 20), 6, fill="#9ba1a7", outline="#30353a")
    for y, text, size in ((370, label, 120), (465, marked, 70)):
        pen.text((600, y), text, fill="#15181b", font=ImageFont.load_default(size), anchor="mm")
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=88)
    return out.getvalue()
