"""From a view to HTML, and from HTML to PDF.

Templates are looked for in the archive's own ``templates`` folder first, then in those that come
with the tool; all of them run in a sandbox, with undefined names an error and every text escaped.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from reportgen.report.pdf import pdf
from reportgen.resources import templates_dir

__all__ = ["PAPER", "PAPERS", "SCREEN", "environment", "html", "pdf"]

PAPERS = ("A4", "Letter")
PAPER, SCREEN = "paper", "screen"
MEDIA = (PAPER, SCREEN)
"""What a document is set for: sheets of paper, or a page that a browser shows."""


@lru_cache(maxsize=4)
def environment(own: Path | None = None) -> Any:
    """Return the template environment; ``own`` is a folder whose templates come first."""
    from jinja2 import FileSystemLoader, StrictUndefined, TemplateNotFound
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    class Loader(FileSystemLoader):
        """Loads no template through a link that leads out of the folders."""

        def get_source(self, environment: Any, template: str) -> Any:
            found = super().get_source(environment, template)
            inside = (Path(folder).resolve() for folder in self.searchpath)
            if not any(Path(found[1]).resolve().is_relative_to(folder) for folder in inside):
                raise TemplateNotFound(template)
            return found

    folders = [templates_dir()]
    if own is not None and own.is_dir():
        folders.insert(0, own)
    return ImmutableSandboxedEnvironment(
        loader=Loader([str(folder) for folder in folders]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        auto_reload=False,
    )


def html(
    name: str, view: object, paper: str, archive: Path | None = None, medium: str = PAPER
) -> str:
    """Return a document as HTML.

    ``name`` is the template folder (``brew_day_sheet``), ``view`` its view model, ``paper`` A4 or
    Letter, ``archive`` the root of the archive, whose ``templates`` folder may override any file,
    ``medium`` what it is set for. Raises ``ValueError`` for another paper or medium, and jinja2's
    errors for a template that is wrong.
    """
    if paper not in PAPERS:
        raise ValueError(f"no paper: {paper}; one of {', '.join(PAPERS)}")
    if medium not in MEDIA:
        raise ValueError(f"no medium: {medium}; one of {', '.join(MEDIA)}")
    own = archive / "templates" if archive is not None else None
    template = environment(own).get_template(f"{name}/page.html.j2")
    return str(template.render(view=view, paper=paper, medium=medium))
