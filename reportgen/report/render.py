"""From a view to HTML, and from HTML to PDF.

Templates are looked for in the archive's own ``templates`` folder first, then in those that come
with the tool; all of them run in a sandbox, with undefined names an error and every text escaped.
"""

from __future__ import annotations

import base64
import hashlib
import sys
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

from reportgen.report.fit import fit
from reportgen.report.pdf import pdf
from reportgen.report.template_fault import fault_of, style_fault
from reportgen.resources import templates_dir

__all__ = ["PAPER", "PAPERS", "SCREEN", "environment", "html", "pdf"]

PAPERS = ("A4", "Letter")
PAPER, SCREEN = "paper", "screen"
MEDIA = (PAPER, SCREEN)
"""What a document is set for: sheets of paper, or a page that a browser shows."""
MOST_NAMES = 20_000
"""Names remembered as safe or not at one time, so that no template makes them grow for ever."""


def policy_hash(text: str) -> str:
    """Return what a content security policy calls a script or style by: nothing else may run."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


@lru_cache(maxsize=4)
def environment(own: Path | None = None) -> Any:
    """Return the template environment; ``own`` is a folder whose templates come first.

    Where there is such a folder all templates run in a sandbox, since they may come from anyone.
    Those of the tool alone are its own code like any other, and run a fifth faster without.
    """
    from jinja2 import (
        Environment,
        FileSystemBytecodeCache,
        FileSystemLoader,
        StrictUndefined,
        TemplateNotFound,
    )
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    class Loader(FileSystemLoader):
        """Loads no template through a link that leads out of the folders."""

        def get_source(self, environment: Any, template: str) -> Any:
            source = super().get_source(environment, template)
            inside = (Path(folder).resolve() for folder in self.searchpath)
            if not any(Path(source[1]).resolve().is_relative_to(folder) for folder in inside):
                raise TemplateNotFound(template)
            return source

    class Sandbox(ImmutableSandboxedEnvironment):
        """Asks once for each type and name whether the name may be looked up.

        The answer hangs on nothing else, and a page of a large ledger asks a million times.
        """

        def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
            key = (type(obj), attr)
            if key not in safe:
                if len(safe) >= MOST_NAMES:
                    safe.clear()
                safe[key] = super().is_safe_attribute(obj, attr, value)
            return safe[key]

    class Compiled(FileSystemBytecodeCache):
        """Keeps compiled templates beside them, as Python does modules; goes without if it must."""

        def dump_bytecode(self, bucket: Any) -> None:
            if not sys.dont_write_bytecode:
                with suppress(OSError):
                    Path(self.directory).mkdir(exist_ok=True)
                    super().dump_bytecode(bucket)

    safe: dict[tuple[type, str], bool] = {}
    folders = [templates_dir()]
    kind: type[Environment] = Environment
    # What was compiled for the sandbox does not run without it, so it has another name.
    compiled: Compiled | None = Compiled(str(templates_dir() / "__pycache__"), "trusted_%s.cache")
    if own is not None and own.is_dir():
        folders.insert(0, own)
        kind = Sandbox
        # What an archive brings is compiled each time: nothing of it is kept, or read compiled.
        compiled = None
    made = kind(
        loader=Loader([str(folder) for folder in folders]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=False,
        auto_reload=False,
        bytecode_cache=compiled,
    )
    made.filters["fit"] = fit
    made.filters["policy_hash"] = policy_hash
    return made


def html(
    name: str,
    view: object,
    paper: str,
    archive: Path | None = None,
    medium: str = PAPER,
    written: str = "",
) -> str:
    """Return a document as HTML.

    ``name`` is the template folder (``brew_day_sheet``), ``view`` its view model, ``paper`` A4 or
    Letter, ``archive`` the root of the archive, whose ``templates`` folder may override any file,
    ``medium`` what it is set for, ``written`` the data of a page that can be written on, as JSON.
    Raises ``ValueError`` for another paper or medium, and
    :class:`TemplateFault` with file and line for a template or stylesheet that is wrong.
    """
    if paper not in PAPERS:
        raise ValueError(f"no paper: {paper}; one of {', '.join(PAPERS)}")
    if medium not in MEDIA:
        raise ValueError(f"no medium: {medium}; one of {', '.join(MEDIA)}")
    own = archive / "templates" if archive is not None else None
    names = {"view": view, "paper": paper, "medium": medium, "written": written}
    try:
        template = environment(own).get_template(f"{name}/page.html.j2")
        text = str(template.render(**names))
        if own is not None:
            _look_at_styles(own, names)
    except Exception as error:
        # A template can raise anything, and whoever wrote it needs the place.
        fault = fault_of(error)
        if fault is None or fault is error:
            raise
        raise fault from error
    return text


def _look_at_styles(own: Path, names: dict[str, object]) -> None:
    """Raise :class:`TemplateFault` for a stylesheet of the archive that is no CSS.

    The making of the PDF would pass over what it cannot read.
    """
    for file in sorted(own.rglob("*.css")):
        template = environment(own).get_template(file.relative_to(own).as_posix())
        wrong = style_fault(str(template.render(**names)), file)
        if wrong is not None:
            raise wrong
