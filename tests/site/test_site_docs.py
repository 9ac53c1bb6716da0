"""The page on the site file keeps step with the program: its example, its keys, its messages."""

from __future__ import annotations

import re
from pathlib import Path

from pydantic import BaseModel

from nestwatch.site import load_site, schema
from tests.site import test_measured_pens, test_notify_table, test_site_form, test_site_mistakes
from tests.site.sites import written

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "site-file.md").read_text(encoding="utf-8")


def test_the_example_is_read(tmp_path: Path) -> None:
    lines = PAGE.split("## An example\n")[1].split("\n## ")[0].splitlines()
    example = "\n".join(line.removeprefix("    ") for line in lines if line.startswith("    ") or not line)
    site = load_site(written(tmp_path, example))
    assert (site.name, len(site.cameras), len(site.cameras[0].zones)) == ("Linden Fen", 1, 1)


def test_every_key_is_on_the_page() -> None:
    parts: list[type[BaseModel]] = [
        schema.SitePart,
        schema.AnimalPart,
        schema.PenPart,
        schema.PostPart,
        schema.TapePart,
        schema.SquarePart,
        schema.CameraPart,
        schema.ZonePart,
        schema.MarkPart,
        schema.NotifyPart,
        schema.MailPart,
    ]
    tables = {"post", "tape", "square", "zone", "mark", "mail"}
    inside = {schema.PostPart: "post.", schema.TapePart: "tape.", schema.SquarePart: "square."}
    inside[schema.MailPart] = "mail."
    for part in parts:
        for key in set(part.model_fields) - tables:
            assert f"`{inside.get(part, '')}{key}`" in PAGE, key


def test_every_message_on_the_page_is_one_that_is_said() -> None:
    said = {
        str(case.values[-1]).removeprefix(", ").removeprefix(": ")
        for module in (test_site_form, test_site_mistakes, test_measured_pens, test_notify_table)
        for case in module.MISTAKES
    }
    quoted = re.findall(r"^\| [a-z A-Z]+ \| `(line .+)` \|$", PAGE, flags=re.MULTILINE)
    assert len(quoted) >= 15
    for message in quoted:
        assert message in said, message
