"""The drawing page in a real browser: mouse, keyboard, finger; what was saved is what the file says."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Dialog, Locator, Page, expect

from nestwatch.site import load_site
from nestwatch.site.records import Camera

Open = Callable[..., Page]
Place = tuple[float, float]


def on_screen(page: Page, place: Place) -> Place:
    """Where a picture's pixel is on the screen."""
    script = """([x, y]) => { const m = document.getElementById('picture').getScreenCTM();
                const p = new DOMPoint(x, y).matrixTransform(m); return [p.x, p.y]; }"""
    x, y = page.evaluate(script, list(place))
    return x, y


def click(page: Page, place: Place) -> None:
    page.mouse.click(*on_screen(page, place))


def drag(page: Page, start: Place, end: Place) -> None:
    page.mouse.move(*on_screen(page, start))
    page.mouse.down()
    page.mouse.move(*on_screen(page, ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)))
    page.mouse.move(*on_screen(page, end), steps=4)
    page.mouse.up()


def draw_zone(page: Page, corners: list[Place], name: str, kind: str) -> None:
    page.click("#draw")
    for corner in [*corners, corners[0]]:
        click(page, corner)
    page.fill("#zone-name", name)
    page.select_option("#zone-kind", kind)


def mark(page: Page, post: str, place: Place) -> None:
    page.locator("#posts .item", has_text=re.compile(rf"^{post}(not marked|marked|\d)")).click()
    # What is said of the drawing afterwards may scroll the picture: the next place is looked up after it.
    with page.expect_response(re.compile("/check")):
        click(page, place)


def save(page: Page) -> None:
    page.click("#save")
    expect(page.locator("#said")).to_contain_text(
        "Saved into site.toml; the former version is site.toml.before-"
    )


def drawn(page: Page) -> dict[str, Any]:
    drawing: dict[str, Any] = page.evaluate("structuredClone(outlinePage.state.drawing)")
    return drawing


def camera(site_file: Path) -> Camera:
    return load_site(site_file).cameras[0]


def corner(page: Page, number: int) -> Locator:
    return page.locator(f'#picture [data-corner="{number}"]')


@pytest.fixture
def bare_file(site_file: Path) -> Path:
    """The site before anything was drawn, but with the keeper's remarks."""
    text = site_file.read_text(encoding="utf-8")
    text = text[: text.index("[[camera.zone]]")].replace("clock = ", "# set in May\nclock = ")
    site_file.write_text(text + "# the end\n", encoding="utf-8")
    return site_file


SAND = [(60.0, 40.0), (230.0, 40.0), (240.0, 200.0), (15.0, 200.0)]
# Where the sample night's truth has these four posts (its site file).
POSTS: dict[str, Place] = {
    "post_nw": (62.8, 29.2), "post_ne": (313.3, 35.9), "stake_1": (114.8, 146.6), "stake_2": (257.3, 150.9),
}  # fmt: skip


def test_draw_a_zone_mark_four_posts_save_and_reload(open_page: Open, bare_file: Path) -> None:
    page = open_page(bare_file)
    expect(page.locator("#verdict")).to_contain_text("Draw a nesting zone")
    draw_zone(page, SAND, "sand bank", "nesting")
    for post, place in POSTS.items():
        mark(page, post, place)
    expect(page.locator("#verdict")).to_contain_text("4 marks tie the picture to the plan")
    page.locator("#zones .item", has_text="sand bank").click()
    drag(page, SAND[1], (225, 60))
    save(page)

    saved = camera(bare_file)
    assert [(zone.name, zone.kind) for zone in saved.zones] == [("sand bank", "nesting")]
    wanted = [SAND[0], (225, 60), *SAND[2:]]
    for have, want in zip(saved.zones[0].outline, wanted, strict=True):
        assert have == pytest.approx(want, abs=0.5)  # a screen pixel is less than half a picture pixel
    assert {mark.post: mark.pixel for mark in saved.marks} == {
        post: pytest.approx(place, abs=0.5) for post, place in POSTS.items()
    }
    text = bare_file.read_text(encoding="utf-8")
    assert "# set in May\nclock = " in text
    assert "# the end\n" in text

    before = drawn(page)
    page.reload()
    page.wait_for_selector("#picture image[data-shown]", state="attached")
    assert drawn(page) == before
    expect(page.locator("#save")).to_be_disabled()
    expect(page.locator("#zones")).to_contain_text("sand bank")
    expect(page.locator("#picture .mark")).to_have_count(4)


def test_corners_are_moved_inserted_and_taken_out(open_page: Open, site_file: Path) -> None:
    page = open_page(site_file)
    count = len(camera(site_file).zones[0].outline)
    page.locator("#zones .item", has_text="sand").click()
    corners = page.locator("#picture .corner")
    expect(corners).to_have_count(count)
    box = page.locator('#picture [data-mid="1"]').bounding_box()
    assert box
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(*on_screen(page, (200, 150)), steps=5)
    expect(page.locator("#loupe")).to_have_class(re.compile(r"\bon\b"))
    page.mouse.up()
    expect(corners).to_have_count(count + 1)
    assert drawn(page)["zones"][0]["outline"][2] == pytest.approx([200, 150], abs=0.6)
    page.click("#remove")
    expect(corners).to_have_count(count)
    page.click("#undo")
    expect(corners).to_have_count(count + 1)
    page.click("#undo")  # the insertion and its drag are one step
    expect(corners).to_have_count(count)
    expect(page.locator("#undo")).to_be_disabled()
    page.click("#redo")
    expect(corners).to_have_count(count + 1)


def test_a_zone_drawn_and_marks_set_by_keyboard_alone(open_page: Open, bare_file: Path) -> None:
    page = open_page(bare_file)
    page.focus("#draw")
    page.keyboard.press("Enter")
    expect(page.locator("#picture")).to_be_focused()
    for key, times in (("ArrowLeft", 0), ("ArrowRight", 6), ("ArrowDown", 5), ("ArrowLeft", 6)):
        for _ in range(times):
            page.keyboard.press(f"Shift+{key}")
        page.keyboard.press("Enter")
    page.keyboard.press("f")
    expect(page.locator("#zone-name")).to_be_focused()
    page.keyboard.type("heap")
    page.keyboard.press("Tab")
    page.keyboard.press("i")  # ignore
    page.keyboard.press("Escape")
    page.locator("#posts .item").first.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    expect(page.locator('#picture [data-post="post_sw"]')).to_be_focused()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Control+s")
    expect(page.locator("#said")).to_contain_text("Saved into site.toml")
    page.keyboard.press("Delete")
    expect(page.locator("#picture .mark")).to_have_count(0)
    page.keyboard.press("Control+z")
    expect(page.locator("#picture .mark")).to_have_count(1)
    text = bare_file.read_text(encoding="utf-8")
    assert (
        'name = "heap"\nkind = "ignore"\noutline = [[176, 104], [236, 104], [236, 154], [176, 154]]'
        in text.replace(".0", "")
    )
    assert 'post = "post_sw"\npixel = [187, 102]' in text.replace(".0", "")


def test_corners_by_keyboard(open_page: Open, site_file: Path) -> None:
    page = open_page(site_file)
    page.locator("#zones .item", has_text="sand").click()
    count = len(camera(site_file).zones[0].outline)
    start = camera(site_file).zones[0].outline[4]
    corner(page, 4).focus()
    for key in ("ArrowLeft", "ArrowLeft", "Shift+ArrowDown"):
        page.keyboard.press(key)
    assert drawn(page)["zones"][0]["outline"][4] == [
        pytest.approx(start[0] - 2),
        pytest.approx(start[1] + 10),
    ]
    expect(corner(page, 4)).to_have_attribute("aria-label", re.compile(r"^Corner 5 of sand, x \d+, y \d+$"))
    page.keyboard.press("Insert")
    expect(page.locator("#picture .corner")).to_have_count(count + 1)
    expect(corner(page, 5)).to_be_focused()
    page.keyboard.press("Delete")
    expect(page.locator("#picture .corner")).to_have_count(count)
    for _ in range(3):
        page.keyboard.press("Control+z")
    assert drawn(page)["zones"][0]["outline"][4] == list(start)  # the run of arrow keys is one step
    expect(page.locator("#undo")).to_be_disabled()


def test_mistakes_are_told_while_drawing_and_not_saved(open_page: Open, site_file: Path) -> None:
    before = site_file.read_bytes()
    page = open_page(site_file)
    draw_zone(page, [(100, 50), (200, 150), (200, 50), (100, 150)], "bow tie", "water")
    expect(page.locator("#wrongs .wrong")).to_contain_text(
        "Zone bow tie: crosses or touches itself near (150, 100)"
    )
    expect(page.locator("#picture .zone.wrong")).to_have_count(1)
    page.click("#save")
    expect(page.locator("#told")).to_contain_text("Nothing is saved yet. ")
    assert site_file.read_bytes() == before
    assert [zone["name"] for zone in drawn(page)["zones"]] == ["sand", "pond", "bow tie"]


def test_a_stale_file_is_refused_and_the_drawing_kept(open_page: Open, site_file: Path) -> None:
    page = open_page(site_file)
    draw_zone(page, [(100, 50), (200, 50), (200, 150)], "rück", "ignore")
    changed = site_file.read_text(encoding="utf-8") + "# edited by hand\n"
    site_file.write_text(changed, encoding="utf-8")
    page.click("#save")
    told = page.locator("#told")
    expect(told).to_contain_text(
        "was changed by another program since the page was opened, so nothing is saved"
    )
    assert site_file.read_text(encoding="utf-8") == changed
    expect(page.locator("#zones")).to_contain_text("rück")
    with page.expect_download() as download:
        page.click("#told-copy")
    assert download.value.suggested_filename == "site-drawing.txt"
    text = Path(download.value.path()).read_text(encoding="utf-8")
    assert '[[camera.zone]]\nname = "rück"\nkind = "ignore"\noutline = [[' in text


def test_the_program_stopped(open_page: Open, site_file: Path, serve: Any) -> None:
    page = open_page(site_file)
    page.locator("#zones .item", has_text="sand").click()
    page.context.set_offline(True)
    page.click("text=Take the zone out")
    expect(page.locator("#told")).to_contain_text("The program in the terminal does not answer")
    page.context.set_offline(False)


def test_zooming_makes_an_exact_click(open_page: Open, bare_file: Path) -> None:
    page = open_page(bare_file)
    page.mouse.move(*on_screen(page, POSTS["stake_1"]))
    for _ in range(6):
        page.mouse.wheel(0, -300)
    page.wait_for_timeout(100)
    mark(page, "stake_1", POSTS["stake_1"])
    assert drawn(page)["marks"] == [
        {"post": "stake_1", "pixel": [pytest.approx(v, abs=0.1) for v in POSTS["stake_1"]]}
    ]
    page.click("#whole")
    assert page.locator("#picture").get_attribute("viewBox") == "0 0 352 208"


def test_the_slider_shows_other_stills(open_page: Open, site_file: Path) -> None:
    page = open_page(site_file)
    still = page.locator("#picture image")
    first = still.get_attribute("href")
    page.focus("#time")
    page.keyboard.press("End")
    expect(page.locator("#clock")).to_have_text("23:30")
    expect(still).not_to_have_attribute("href", str(first))
    expect(still).to_have_attribute("data-shown", "23:30")
    plain = still.get_attribute("href")
    page.check("#averaged")
    expect(still).not_to_have_attribute("href", str(plain))


def test_footage_gone_is_said_on_the_page(open_page: Open, site_file: Path) -> None:
    site_file.parent.joinpath("footage").rename(site_file.parent / "away")
    page = open_page(site_file)
    expect(page.locator("#no-still")).to_contain_text("does not exist; correct `footage` in the site file")
    expect(page.locator("#zones")).to_contain_text("sand")


PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


def touch(page: Page, *steps: list[Place]) -> Callable[[], object]:
    """Real touches by the browser's own protocol: fingers down, moved; what is returned lifts them."""
    client = page.context.new_cdp_session(page)

    def send(kind: str, places: list[Place]) -> None:
        points = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(places)]
        client.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    for number, places in enumerate(steps):
        send("touchMove" if number else "touchStart", places)
    return lambda: send("touchEnd", [])


def test_by_finger_on_a_phone(open_page: Open, site_file: Path) -> None:
    page = open_page(site_file, **PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator("#zones .item", has_text="pond").tap()
    page.evaluate("scrollTo(0, 0)")
    start = camera(site_file).zones[1].outline[4]
    begin, end = on_screen(page, start), on_screen(page, (280, 80))
    halfway = ((begin[0] + end[0]) / 2, (begin[1] + end[1]) / 2)
    lift = touch(page, [begin], [halfway], [end])
    expect(page.locator("#loupe")).to_have_class(re.compile(r"\bon\b"))
    lift()
    expect(page.locator("#loupe")).not_to_have_class(re.compile(r"\bon\b"))
    assert drawn(page)["zones"][1]["outline"][4] == pytest.approx([280, 80], abs=1)


def test_pinching_zooms(open_page: Open, site_file: Path) -> None:
    page = open_page(site_file, **PHONE)
    page.evaluate("scrollTo(0, 0)")
    x, y = on_screen(page, (176, 104))
    touch(page, *([(x - far, y), (x + far, y)] for far in (20, 30, 50, 80)))()
    expect(page.locator("#picture")).to_have_class(re.compile(r"\bzoomed\b"))
    left, _, width, _ = map(float, str(page.locator("#picture").get_attribute("viewBox")).split())
    assert width == pytest.approx(352 / 4, rel=0.15)
    assert left + width / 2 == pytest.approx(176, abs=6)


def test_leaving_with_unsaved_work_asks(open_page: Open, site_file: Path) -> None:
    page = open_page(site_file)
    asked: list[str] = []

    def answer(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    page.on("dialog", answer)
    draw_zone(page, [(100, 50), (200, 50), (200, 150)], "heap", "ignore")
    page.reload()
    assert asked == ["beforeunload"]


RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [(1280, 860), (390, 844)], ids=["desktop", "phone"])
def test_axe_finds_nothing(open_page: Open, site_file: Path, scheme: str, size: tuple[int, int]) -> None:
    """Deque's axe-core, as packaged by axe-playwright-python: every rule of WCAG 2.2 AA and best practice."""
    page = open_page(site_file, color_scheme=scheme, viewport={"width": size[0], "height": size[1]})
    page.locator("#zones .item", has_text="sand").click()
    expect(page.locator("#verdict")).to_contain_text("marks tie the picture")
    page.click(".foot summary")
    page.evaluate("outlinePage.tell('Not saved.'); scrollTo(0, 0)")
    assert violations(page) == []
    if scheme == "light":
        page.click("#draw")
        click(page, (100, 100))
        assert violations(page) == []


def violations(page: Page) -> list[tuple[str, str]]:
    found = Axe().run(page, options=RULES).response
    assert len(found["passes"]) > 10
    return [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]]


def test_a_used_address_is_said_in_a_page(open_page: Open, serve: Any, site_file: Path, browser: Any) -> None:
    server = serve(site_file)
    for expected in (200, 403):
        context = browser.new_context()
        page = context.new_page()
        answer = page.goto(server.start_url)
        assert answer.status == expected
        if expected == 403:
            expect(page.locator("main")).to_contain_text(
                "This address has been used already, and it works once."
            )
            assert violations(page) == []
        context.close()
