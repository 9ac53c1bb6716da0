"""Labels read back from the PDF, and their QR codes from a picture of the page."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pdfplumber
import pytest

from nestwatch.errors import EntryError
from nestwatch.season.incubation.labels import NAMES, SIZES, Label, Size, printed_labels, qr

LABEL = Label(
    "A1",
    (
        "European pond turtle (Emys orbicularis)",
        "Clutch 2026-06-12 dig 1 of Žofie",
        "Laid 2026-06-12, 9 eggs",
        "Hatch 2026-08-06 to 2026-08-26",
    ),
)
MM = 72 / 25.4


def read_back(picture: np.ndarray) -> str:
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(picture)
    return text


@pytest.mark.parametrize("size", NAMES)
def test_all_is_on_the_label(size: Size) -> None:
    content = printed_labels([LABEL, LABEL], size)
    with pdfplumber.open(io.BytesIO(content)) as pdf:
        assert len(pdf.pages) == 2
        page = pdf.pages[0]
        assert (page.width / MM, page.height / MM) == pytest.approx(SIZES[size], abs=0.1)
        text = " ".join(str(page.extract_text()).split())
        words = [word for line in (LABEL.box, *LABEL.lines) for word in line.split()]
        assert [word for word in [*words, "THIS", "SIDE", "UP", "never"] if word not in text] == []
        assert all(char["x0"] >= 0 and char["x1"] <= page.width for char in page.chars), "nothing is cut off"
        assert all(char["top"] >= 0 and char["bottom"] <= page.height for char in page.chars)
    assert content == printed_labels([LABEL, LABEL], size)


@pytest.mark.parametrize("size", NAMES)
def test_the_printed_code_carries_the_label(size: Size) -> None:
    """OpenCV's detector reads it at 300 dots an inch, an ordinary printer's."""
    with pdfplumber.open(io.BytesIO(printed_labels([LABEL], size))) as pdf:
        picture = np.asarray(pdf.pages[0].to_image(resolution=300).original.convert("L"))
    assert read_back(picture) == LABEL.text
    assert LABEL.text.splitlines()[-1] == "THIS SIDE UP, never turn the eggs"


def test_codes_have_their_quiet_zone() -> None:
    """ISO/IEC 18004 asks for four squares (from memory)."""
    code = qr("x")
    assert code[:4].min() == code[:, :4].min() == code[-4:].min() == 255
    assert code[4, 4] == 0


def test_a_label_that_does_not_fit_is_refused() -> None:
    crowded = Label("A1", tuple(f"Clutch 2026-06-{day} dig 1 of somebody" for day in range(10, 30)))
    with pytest.raises(EntryError, match="the label of box A1 is too long for the size small: take a larger"):
        printed_labels([crowded], "small")
    assert printed_labels([crowded], "large")
