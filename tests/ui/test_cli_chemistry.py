"""Chemistry on the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.ui.command import Told


def test_a_card_as_json(dryside: Callable[..., Told]) -> None:
    """Concentrate, water, and how the dilution was read."""
    code, out, err = dryside("chemistry", "card", "--dilution", "1+9", "--volume", "1000", "--json")
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert (told["concentrate_ml"], told["water_ml"]) == (100, 900)
    assert told["reading"] == "1+9: 1 part concentrate and 9 parts water make 10 parts"


def test_a_card_for_a_tray(dryside: Callable[..., Told]) -> None:
    """Its volume follows from size and depth, and the card says so."""
    code, out, _ = dryside(
        "chemistry", "card", "--dilution", "1+4", "--tray", "30x40", "--depth", "2"
    )
    assert code == 0
    assert out.startswith("2.4 l (a tray of 30 x 40 cm, 2 cm deep, flat floor)")
    assert "Add 480 ml of concentrate" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--dilution", "1:9", "--volume", "1000"), "--colon plus or --colon in"),
        (("--dilution", "1:9", "--volume", "1", "--colon", "maybe"), "plus or in"),
        (("--dilution", "1+9"), "--volume 1000 and --tray 30x40"),
        (("--dilution", "1+9", "--volume", "1", "--tray", "3x4"), "a volume and a tray"),
        (("--dilution", "1+9", "--tray", "round"), "size of a tray"),
        (("--dilution", "1+9", "--tray", "30x40", "--depth", "0"), "--depth"),
        (("--volume", "1000"), "--dilution"),
        (("--dilution", "1+9", "--volume", "9", "--kind", "tea"), "developer"),
        (("--dilution", "1+1+8", "--volume", "9", "--left", "5"), "one for each of A and B"),
        (("--dilution", "1+9", "--volume", "9", "--pdf", "card.txt"), "card.pdf"),
        (("--dilution", "1+9", "--volume", "9", "--pdf", "no/where.pdf"), "cannot be written"),
    ],
)
def test_what_is_no_card(dryside: Callable[..., Told], words: tuple[str, ...], said: str) -> None:
    """One sentence, exit code 2."""
    code, out, err = dryside("chemistry", "card", *words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err


def test_a_card_to_pin_up(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """One page with figures and cautions on it, however long they are."""
    words = ("--dilution", "1+1+1+1+96", "--tray", "50x60", "--vessel", "700", "--kind", "selenium")
    left = [word for _ in "abcd" for word in ("--left", "3")]
    assert dryside("chemistry", "card", *words, *left, "--pdf", "card.pdf")[0] == 0
    (page,) = PdfReader(tmp_path / "card.pdf").pages
    text = " ".join(page.extract_text().split())
    for needed in (
        "Selenium toner",
        "1+1+1+1+96",
        "6.7 ml",
        "never made acid",
        "leads, and local",
    ):
        assert needed in text, needed


def test_a_name_in_any_script_leaves_a_card(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """What the typeface has not is spelled without, and markup is only text."""
    home = tmp_path / "home"
    home.mkdir()
    name = "Entwickler \u0416\u73fe <b>\u015b & co</i> " + "long " * 6
    text = f'[[product]]\nname = "{name.strip()}"\nkind = "developer"\ndilution = "1+9"\n'
    (home / "chemistry.toml").write_text(text)
    words = ("card", "entwickler", "--volume", "1l", "--pdf", "card.pdf")
    assert dryside("chemistry", *words)[0] == 0
    (page,) = PdfReader(tmp_path / "card.pdf").pages
    assert "Entwickler ?? <b>" in " ".join(page.extract_text().split())


def test_percent_solutions(dryside: Callable[..., Told]) -> None:
    """60 % to 2 %: 33.3 ml in a litre; and the other way round."""
    code, out, _ = dryside("chemistry", "percent", "--from", "60", "--to", "2", "--json")
    assert code == 0
    assert json.loads(out)["concentrate_ml"] == pytest.approx(33.333, abs=1e-3)
    _, out, _ = dryside("chemistry", "percent", "--from", "28%", "--take", "48", "--json")
    assert json.loads(out)["to_percent"] == pytest.approx(1.344)
    code, _, err = dryside("chemistry", "percent", "--from", "2", "--to", "60")
    assert code == 2
    assert "weaker" in err


def test_an_evening_with_its_baths(dryside: Callable[..., Told]) -> None:
    """Mixed, used, checked, rotated, replaced and poured out, with a state at each step."""
    made = ("chemistry", "made")
    assert (
        dryside(*made, "paper dev", "--volume", "1l", "--tray", "developer", "--at", "2h")[0] == 0
    )
    assert dryside(*made, "fixer in two", "--volume", "1l", "--set-of-two")[0] == 0
    words = ("developer", "first fixer", "second fixer", "--sheets", "21", "--mark", "K7")
    code, out, err = dryside("chemistry", "used", *words)
    assert (code, err) == (0, "")
    assert "84% by paper, nearly used up; 21 sheets" in out
    code, out, _ = dryside("chemistry", "tonight", "--sheets", "10", "--json")
    told = json.loads(out)
    developer, fixer, _ = told["baths"]
    assert told["process"] == "two-bath"
    (stop,) = told["missing"]
    assert (stop["tray"], stop["product"], stop["mix_ml"]) == ("stop", "stop bath", 1000)
    assert (code, told["enough"], fixer["enough"]) == (0, False, True)
    assert (developer["takes_sheets"], developer["fresh_baths"]) == (4, 1)
    assert (developer["concentrate_ml"], developer["water_ml"]) == (100, 900)
    assert dryside("chemistry", "used", "first fixer", "--sheets", "19")[0] == 0
    code, out, _ = dryside("chemistry", "check", "--json")
    told = json.loads(out)
    assert [bath["state"] for bath in told["baths"]] == ["nearly used up", "used up", "fresh"]
    assert told["rotation"][0]["move"] == "second becomes first"
    assert dryside("chemistry", "rotate")[0] == 0
    code, _, err = dryside(*made, "paper dev", "--volume", "1l", "--tray", "developer")
    assert (code, "--replace" in err) == (2, True)
    assert dryside("chemistry", "move", "developer", "full")[0] == 0
    assert dryside("chemistry", "discard", "developer")[0] == 0
    code, out, _ = dryside("chemistry", "check")
    assert [line.partition(":")[0] for line in out.splitlines() if line[0] != " "] == [
        "first fixer",
        "second fixer",
        "two baths",
    ]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("made", "tea", "--volume", "1"), "no product 'tea'"),
        (("made", "fixer", "--volume", "0"), "nothing"),
        (("made", "fixer", "--volume", "1", "--in", "bucket"), "tray, full or half"),
        (("made", "fixer", "--volume", "1", "--at", "soon"), "2d for so long ago"),
        (("made", "fixer", "--volume", "1", "--at", "2999-01-01"), "yet to come"),
        (("made", "fixer", "--volume", "1", "--set-of-two", "--tray", "x"), "first fixer"),
        (("used", "developer"), "dryside chemistry made"),
        (("used", "developer", "--base", "glass"), "fibre or resin-coated"),
        (("rotate",), "no two fixing baths"),
        (("discard", "developer"), "dryside chemistry made"),
        (("tonight", "--sheets", "3", "--hours", "nan"), "--hours"),
        (("made", "fixer", "--volume", "1", "--dilution", "1:4"), "--colon"),
        (("cleaned", " "), "no tray is named"),
        (("products", "check", "no.toml"), "there is no such file"),
        (("products", "show", "tea"), "no product"),
    ],
)
def test_what_no_bath_can_be(
    dryside: Callable[..., Told], words: tuple[str, ...], said: str
) -> None:
    """One sentence, exit code 2."""
    code, out, err = dryside("chemistry", *words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err


def test_products_of_ones_own(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """The example is a sound file, never over another; a card is made of a product by its name."""
    home = tmp_path / "home"
    home.mkdir()
    own = home / "chemistry.toml"
    assert dryside("chemistry", "products", "example", "--to", str(own))[0] == 0
    assert dryside("chemistry", "products", "example", "--to", str(own))[0] == 2
    assert dryside("chemistry", "products", "check")[0] == 0
    own.write_text(own.read_text().replace('"1+19"', '"1+39"'))
    code, out, _ = dryside("chemistry", "card", "stop bath", "--volume", "1000", "--json")
    told = json.loads(out)
    assert (code, told["concentrate_ml"], told["kind"]) == (0, 25, "stop")
    code, out, _ = dryside("chemistry", "products", "list")
    assert [line.split()[-1] for line in out.splitlines() if "stop" in line] == ["yours"]
