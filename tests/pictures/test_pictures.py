"""The command that shoots every page, on three of them."""

import os
import subprocess
import sys
from pathlib import Path

from PIL import Image

from tests.here import need_browser
from tests.pictures.__main__ import TINY

HOUSE = Path(__file__).resolve().parent.parent.parent


def test_it_shoots_pages_and_says_what_it_saw(tmp_path: Path) -> None:
    need_browser()
    ours = ("DATABASE_URL", "DATABASE_APP_URL", "CLUBSETUP_DATA", "DJANGO_SETTINGS_MODULE")
    done = subprocess.run(
        [sys.executable, "-m", "tests.pictures", "--tiny", "--out", str(tmp_path)],
        cwd=HOUSE,
        env={name: value for name, value in os.environ.items() if name not in ours},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout
    assert f"{len(TINY)} pages shown\nscroll sideways: 0\n" in done.stdout
    sizes = [Image.open(sheet).size for sheet in sorted(tmp_path.glob("*.png"))]
    assert len(sizes) == len(TINY)
    assert all(width > 700 and height > 500 for width, height in sizes)
