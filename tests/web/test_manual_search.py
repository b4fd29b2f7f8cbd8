"""The search of the manual, as a reader uses it: from a folder, with nothing fetched."""

from __future__ import annotations

from pathlib import Path

import pytest
from browser import ask

from reportgen.report.manual import manual_html
from reportgen.report.manual_search import places, words_of

TYPED = """
  const field = document.getElementById("wanted"), list = document.getElementById("found");
  function type(words) {
    field.value = words;
    field.dispatchEvent(new Event("input"));
    return [...list.querySelectorAll("a")].map((link) => link.getAttribute("href"));
  }
  return {
    "empty": type(""),
    "residual alkalinity": type("residual alkalinity"),
    "mash_temperature": type("mash_temperature"),
    "over-sparged": type("over-sparged"),
    "evaporat": type("evaporat"),
    "--fail-on": type("--fail-on"),
    "ZZZ": type("zzzz"),
    "<b>": type("<b>zzz</b>"),
    told: document.getElementById("told").textContent,
    address: (type("strike water"), location.hash),
  };
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("manual")
    found = {}
    for name, text in manual_html().items():
        found[name] = folder / name
        found[name].write_text(text, encoding="utf-8")
    return found


def test_words_lead_to_the_place_that_has_them(site: dict[str, Path], tmp_path: Path) -> None:
    page = {"search.html": site["search.html"]}
    found = ask(page, tmp_path, TYPED, 900)["search.html"]
    assert found["empty"] == [] and found["ZZZ"] == []
    assert any("alkalinity" in link for link in found["residual alkalinity"][:3])
    assert found["over-sparged"][0].startswith("checks-")
    assert any(link.startswith("figures.html") for link in found["mash_temperature"])
    # The beginning of a word is enough; an option is found with its dashes or without.
    assert len(found["evaporat"]) > 3
    assert any(link.startswith("commands.html#verb-check") for link in found["--fail-on"])
    assert found["told"] == "Nothing found."
    assert found["address"] == "#q=strike+water"


def test_every_place_of_the_index_is_on_its_page(site: dict[str, Path]) -> None:
    texts = {name: path.read_text("utf-8") for name, path in site.items() if name != "search.html"}
    found = list(places(texts))
    assert len(found) > 500
    for address, name, words in found:
        file, _, anchor = address.partition("#")
        assert not anchor or f'id="{anchor}"' in texts[file], address
        assert name and words


def test_keys_are_found_whole_and_by_their_parts() -> None:
    assert words_of("Set `mash_temperature` to 66.5 °C; mash") == [
        "set", "mash_temperature", "mash", "temperature", "to", "66.5", "66", "c"
    ]  # fmt: skip
