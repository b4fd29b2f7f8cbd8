"""What a reader sees: the same words for the same thing, and none that stop a reader."""

from __future__ import annotations

import re

import pytest

from reportgen.forecast.figures import FIGURES


@pytest.mark.parametrize("key", FIGURES)
def test_the_title_of_a_figure_begins_with_the_words_of_its_key(key: str) -> None:
    """Who reads a label on a sheet can type its key, and the other way round."""
    title = re.sub("[^a-z0-9]+", " ", FIGURES[key].title.lower()).strip()
    assert f"{title} ".startswith(f"{key.replace('_', ' ')} ")
