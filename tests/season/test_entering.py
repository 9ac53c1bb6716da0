"""What a keeper enters: taken, refused, or asked about, in words."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from nestwatch.errors import ChangedMeanwhile, DoubtfulEntry, EntryError
from nestwatch.season.by_hand import HandDig, add_dig
from nestwatch.season.clutches import ClutchChanges, change_clutch, clutch_of
from nestwatch.season.digs import dig_called
from nestwatch.season.females import add_female, change_female, females
from nestwatch.season.finds import enter_find
from nestwatch.season.open import Record
from nestwatch.season.photographs import keep_photograph
from nestwatch.season.records import Dig, Eggs
from nestwatch.season.watched import add_watched
from nestwatch.season.when import instant
from nestwatch.site.records import Site
from tests.season.records import NIGHT, dig_entry, record_in, scanned, site_in


@pytest.fixture
def record(tmp_path: Path) -> Iterator[Record]:
    with record_in(tmp_path) as opened:
        scanned(opened, tmp_path, [dig_entry()])
        yield opened


@pytest.fixture
def site(tmp_path: Path) -> Site:
    return site_in(tmp_path)


def the_dig(record: Record) -> Dig:
    return dig_called(record, NIGHT, "1")


@pytest.mark.parametrize(
    ("eggs", "error", "words"),
    [
        (Eggs(whole=12000), EntryError, "12000 whole eggs cannot be; give a number from 0 to 300."),
        (Eggs(whole=-1), EntryError, "-1 whole eggs cannot be; give a number from 0 to 300."),
        (Eggs(200, 101), EntryError, "301 eggs in one clutch cannot be; no turtle lays more than 300."),
        (
            Eggs(whole=52),
            DoubtfulEntry,
            "52 eggs are very many for one clutch (the site file says 5 to 17); if it is so, add --sure.",
        ),
    ],
)
def test_too_many_eggs(record: Record, site: Site, eggs: Eggs, error: type[Exception], words: str) -> None:
    with pytest.raises(error) as caught:
        enter_find(record, site, the_dig(record), "eggs", eggs=eggs)
    assert str(caught.value) == words
    assert the_dig(record).find is None


def test_three_times_the_usual_is_taken_and_more_when_sure(record: Record, site: Site) -> None:
    enter_find(record, site, the_dig(record), "eggs", eggs=Eggs(whole=51))
    enter_find(record, site, the_dig(record), "eggs", eggs=Eggs(whole=52), sure=True)
    clutch = clutch_of(record, the_dig(record).id)
    assert clutch is not None
    assert clutch.eggs.total == 52


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"lifted_at": "21:00"}, "before they are laid (laid, by the dig: 2026-06-12 21:14)"),
        ({"laid_at": "23:00", "lifted_at": "22:59"}, "(laid, as you said: 2026-06-12 23:00)"),
        ({"lifted_at": "2026-06-13 07:01"}, "that lifting is still to come; check the day."),
        ({"laid_at": "2026-06-10 22:00"}, "that is far from the time of this dig; if it is so, add --sure."),
        ({"female": "Adda"}, 'there is no female "Adda"; did you mean "Ada"?'),
        ({"female": "Zebra"}, 'there is no female "Zebra"; add her with nestwatch female SITE "Zebra"'),
    ],
)
def test_clutches_that_cannot_be(record: Record, site: Site, changes: dict[str, str], words: str) -> None:
    add_female(record, site, "Ada", {})
    typed = {k: instant(v, record.zone, NIGHT) if k.endswith("_at") else v for k, v in changes.items()}
    with pytest.raises(EntryError) as caught:
        change_clutch(record, site, the_dig(record), typed)  # type: ignore[arg-type]
    assert words in str(caught.value)
    assert clutch_of(record, the_dig(record).id) is None, "a refused entry leaves nothing behind"
    assert the_dig(record).find is None


def test_a_clutch_is_entered_bit_by_bit(record: Record, site: Site) -> None:
    add_female(record, site, "Ada", {"marks": "left 2", "shell_length_cm": 16.4})
    steps: list[ClutchChanges] = [
        {"whole": 8, "cracked": 1},
        {"lifted_at": instant("06:30", record.zone, NIGHT)},
        {"female": "ADA"},
        {"cracked": None},
    ]
    for step in steps:
        change_clutch(record, site, the_dig(record), step)
    clutch = clutch_of(record, the_dig(record).id)
    assert clutch is not None
    assert (clutch.female, clutch.eggs, clutch.laid_by) == ("Ada", Eggs(whole=8), "dig")
    assert clutch.lifted_at == instant("2026-06-13 06:30", record.zone)
    find = the_dig(record).find
    assert find is not None
    assert find.found == "eggs", "counting eggs is finding them"
    assert [each.clutches for each in females(record)] == [1]


def test_a_find_and_its_clutch_never_contradict(record: Record, site: Site) -> None:
    enter_find(record, site, the_dig(record), "eggs")
    enter_find(record, site, the_dig(record), "empty")
    assert clutch_of(record, the_dig(record).id) is None, "an empty clutch goes with the word"
    with pytest.raises(EntryError, match="dig 1 of 2026-06-12 is entered as empty; enter it as eggs first"):
        change_clutch(record, site, the_dig(record), {"whole": 3})
    enter_find(record, site, the_dig(record), "eggs", eggs=Eggs(whole=9))
    with pytest.raises(EntryError, match="has a clutch with entries of its own; take those back first"):
        enter_find(record, site, the_dig(record), "empty")


def test_set_aside_needs_a_reason(record: Record, site: Site) -> None:
    with pytest.raises(EntryError, match="say why it is set aside"):
        enter_find(record, site, the_dig(record), "set-aside", why="  ")
    with pytest.raises(EntryError, match="a number of eggs does not go with empty"):
        enter_find(record, site, the_dig(record), "empty", eggs=Eggs(whole=1))


def test_an_entry_changed_meanwhile_is_refused_with_what_it_is_now(tmp_path: Path, site: Site) -> None:
    """Two desks: both were shown no find; the second to enter is told what the first one said."""
    with record_in(tmp_path) as one, record_in(tmp_path) as other:
        scanned(one, tmp_path, [dig_entry()])
        shown = the_dig(one), the_dig(other)
        enter_find(one, site, shown[0], "empty", seen=0)
        with pytest.raises(ChangedMeanwhile) as caught:
            enter_find(other, site, shown[1], "eggs", seen=0)
        find = the_dig(other).find
        assert find is not None
        assert (find.found, find.version) == ("empty", 1)
        enter_find(other, site, the_dig(other), "eggs", seen=1)
        change_clutch(other, site, shown[1], {"whole": 5}, seen=1)
        with pytest.raises(ChangedMeanwhile, match="is now: 5 eggs: 5 whole"):
            change_clutch(one, site, shown[0], {"whole": 6}, seen=1)
    assert str(caught.value) == (
        "this was changed meanwhile, and is now: empty. Look again, then enter again."
    )


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"start": "23:00", "end": "22:00"}, "ends before it begins"),
        ({"start": "2026-06-20 22:00", "end": "2026-06-20 23:00"}, "has not come yet"),
        ({"start": "2026-06-02 22:00", "end": "2026-06-02 23:00"}, "do not belong to the night of"),
        ({"camera": "sandbnk"}, 'no camera "sandbnk"; did you mean "sandbank"?'),
        ({"source": "footage", "camera": "sandbank"}, "needs its place in the picture"),
        ({"source": "footage"}, "needs the camera and the place in its picture"),
        ({"camera": "sandbank", "pixel": (2000.0, 5.0)}, 'outside the picture of "sandbank" (960 x 540)'),
        ({"pen": "lawn"}, 'the site has no pen "lawn".'),
        ({"plan_m": (9.0, 1.0)}, 'outside the pen "sand pen"'),
        ({"plan_m": (2.7, 0.7), "start": "22:00", "end": "22:30"}, "dig 1 of this night lies at"),
    ],
)
def test_digs_by_hand_that_cannot_be(record: Record, site: Site, told: dict[str, object], words: str) -> None:
    whole = {"source": "eye", "start": "20:00", "end": "20:30", **told}
    times = {key: instant(str(whole[key]), record.zone, NIGHT) for key in ("start", "end")}
    with pytest.raises(EntryError) as caught:
        add_dig(record, site, NIGHT, HandDig(**{**whole, **times}))  # type: ignore[arg-type]
    assert words in str(caught.value)


def test_a_dig_from_footage_gets_its_place_from_the_marks(record: Record, site: Site) -> None:
    """The hand-placed camera sees the plan place (1.0, 2.0) at this pixel (tests.site.cameras)."""
    from tests.marking.nights import pixel_of

    x, y = pixel_of((1.0, 2.0))
    start, end = (instant(text, record.zone, NIGHT) for text in ("01:00", "02:00"))
    dig = add_dig(record, site, NIGHT, HandDig("footage", start, end, camera="sandbank", pixel=(x, y)))
    assert dig.plan_m == pytest.approx((1.0, 2.0), abs=0.02)
    assert (dig.pen, dig.label, dig.is_open) == ("sand pen", "A", True)


def test_a_season_without_cameras(tmp_path: Path, site: Site) -> None:
    with record_in(tmp_path) as record:
        start, end = (instant(text, record.zone, NIGHT) for text in ("20:30", "23:30"))
        watched = add_watched(record, site, NIGHT, start, end, who="Noor")
        dig = add_dig(record, site, NIGHT, HandDig("eye", start, end, plan_m=(2.0, 1.0)))
        enter_find(record, site, dig, "eggs", eggs=Eggs(whole=9))
        with pytest.raises(EntryError, match="watching ends before it begins"):
            add_watched(record, site, NIGHT, end, start)
    assert (watched.night, watched.who, dig.label) == (NIGHT, "Noor", "A")


def test_females_have_one_name_each(record: Record, site: Site) -> None:
    add_female(record, site, "Ada", {})
    with pytest.raises(EntryError, match='there is a female "Ada" already'):
        add_female(record, site, " ada ", {})
    with pytest.raises(EntryError, match="1 to 60 letters"):
        add_female(record, site, "  ", {})
    with pytest.raises(DoubtfulEntry, match="a shell of 40 cm is far from the site file's 12 to 20 cm"):
        change_female(record, site, "Ada", {"shell_length_cm": 40.0})
    with pytest.raises(EntryError, match="a shell of 900 cm cannot be"):
        change_female(record, site, "Ada", {"shell_length_cm": 900.0}, sure=True)
    assert change_female(record, site, "ada", {"name": "Bea"}).name == "Bea"


def picture(kind: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (90, 120, 60)).save(out, kind)
    return out.getvalue()


@pytest.mark.parametrize(("kind", "ending"), [("JPEG", ".jpg"), ("PNG", ".png"), ("WEBP", ".webp")])
def test_a_photograph_is_copied_in(tmp_path: Path, site: Site, kind: str, ending: str) -> None:
    source = tmp_path / "Bild von Ä.bin"
    source.write_bytes(picture(kind))
    kept = keep_photograph(site, "Ada", source)
    assert kept.startswith("photographs/")
    assert kept.endswith(ending)
    assert (tmp_path / kept).read_bytes() == source.read_bytes()
    assert keep_photograph(site, "Ada", source) == kept


def test_what_is_no_picture_is_refused(tmp_path: Path, site: Site) -> None:
    text, cut, missing = (tmp_path / name for name in ("notes.jpg", "cut.png", "none.jpg"))
    text.write_text("not a picture", encoding="utf-8")
    noisy = io.BytesIO()
    Image.effect_noise((200, 200), 80).save(noisy, "PNG")
    cut.write_bytes(noisy.getvalue()[:3000])
    for source, words in (
        (text, "notes.jpg is no picture that can be read; give a JPEG, PNG or WebP file"),
        (cut, "cut.png is a damaged picture"),
        (missing, "cannot be read"),
    ):
        with pytest.raises(EntryError) as caught:
            keep_photograph(site, "Ada", source)
        assert words in str(caught.value)
    assert not (tmp_path / "photographs").exists()
