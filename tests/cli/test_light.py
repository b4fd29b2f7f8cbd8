"""An installation that only checks: what works without the libraries of the extras, and what not.

The libraries are hidden from the tool, as if they had not been installed.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from houses import inside

from reportgen import missing

ROOT = Path(__file__).parents[2]
MODULES = sorted({module for _, modules in missing.EXTRAS.values() for module in modules})
HIDDEN = f"import sys; sys.modules.update(dict.fromkeys({MODULES!r})); sys.argv[0] = 'reportgen'; "
LIGHT = f"{HIDDEN}from reportgen.cli import main; sys.exit(main())"
EACH = f"""{HIDDEN}
import io, json
from contextlib import redirect_stderr, redirect_stdout
from reportgen.cli import main
told = []
for words in json.loads(sys.argv[1]):
    with redirect_stdout(io.StringIO()) as out, redirect_stderr(io.StringIO()) as errors:
        code = main(words)
    told.append([code, out.getvalue(), errors.getvalue()])
print(json.dumps(told))
"""
"""All commands in one process, in which what is hidden stays so."""


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A few batches of the demo, one of which still ferments."""
    folder = tmp_path_factory.mktemp("light") / "house"
    for name in ("brewery.yaml", "stock.yaml", "2025/2025-01.yaml", "2025/2025-02.yaml",
                 "2025/2025-03.yaml"):  # fmt: skip
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / "batches" / name, folder / name)
    return folder


Done = subprocess.CompletedProcess[str]


def run(house: Path, *arguments: str) -> Done:
    return subprocess.run(
        [sys.executable, "-c", LIGHT, *arguments], cwd=house, capture_output=True, text=True,
        timeout=120, env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


ALIKE = [
    ("check",),
    ("figures", "2025/2025-01.yaml", "--format", "csv"),
    ("blanks", "2025/2025-01.yaml"),
    ("trace", "2025-01"),
    ("history",),
    ("compare", "2025-02", "2025-03"),
    ("completion", "bash"),
    ("treat", "2025/2025-01.yaml", "--calcium", "80"),
    ("new", "2026-98"),
    ("new", "2026-99", "--like", "2025-01"),
]


@pytest.mark.parametrize("command", ALIKE, ids=" ".join)
def test_what_prints_nothing_works_alike(
    house: Path, each: dict[tuple[str, ...], Done], command: tuple[str, ...]
) -> None:
    light = each[command]
    if command[0] == "new":
        assert light.stdout == f"2026/{command[1]}.yaml\n", light.stderr
        return
    whole = inside(*command, cwd=house)
    assert light.returncode == whole.returncode in (0, 1), light.stderr
    assert light.stdout == whole.stdout
    assert "Traceback" not in light.stderr


NEEDS = {
    ("sheet", "2025/2025-01.yaml"): "print",
    ("record", "2025/2025-01.yaml"): "print",
    ("build",): "print",
    ("ledger",): "print",
    ("manual",): "manual",
}


@pytest.fixture(scope="module")
def each(house: Path) -> dict[tuple[str, ...], Done]:
    commands = [*ALIKE, *NEEDS]
    own = shutil.copytree(house, house.with_name("copy"))
    done = subprocess.run(
        [sys.executable, "-c", EACH, json.dumps(commands)], cwd=own, capture_output=True,
        text=True, timeout=120, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=True,
    )  # fmt: skip
    told = json.loads(done.stdout)
    return {one: Done(one, *said) for one, said in zip(commands, told, strict=True)}


@pytest.mark.parametrize("command", NEEDS, ids=" ".join)
def test_what_needs_more_says_in_one_line_what_to_install(
    each: dict[tuple[str, ...], Done], command: tuple[str, ...]
) -> None:
    done = each[command]
    assert done.returncode == 2
    told = done.stderr.splitlines()[-1]
    assert re.match(rf"reportgen {command[0]}: .+ needs \w+, which is not installed; fix: ", told)
    assert told.endswith(f"'reportgen[{NEEDS[command]}]'")
    assert "Traceback" not in done.stderr


def test_the_pages_of_a_first_plan_name_what_is_missing_and_no_template(tmp_path: Path) -> None:
    run(tmp_path, "start", "house")
    run(tmp_path / "house", "new", "2026-01")
    done = run(tmp_path / "house", "ledger")
    assert done.returncode == 2
    assert re.match(r"reportgen ledger: printing needs \w+, which is not inst", done.stderr)


@pytest.mark.parametrize(
    ("prefix", "command"),
    [
        ("/home/a/.local/share/pipx/venvs/reportgen", "pipx install --force 'reportgen[print]'"),
        ("/home/a/.local/share/uv/tools/reportgen", "uv tool install --force 'reportgen[print]'"),
        ("/home/a/.venv", "-m pip install 'reportgen[print]'"),
    ],
)
def test_the_command_is_that_of_the_installation(
    monkeypatch: pytest.MonkeyPatch, prefix: str, command: str
) -> None:
    monkeypatch.setattr(sys, "prefix", prefix)
    assert missing.install("print").endswith(command)


@pytest.mark.parametrize("manager", ["apt-get", "dnf", "zypper", "pacman", "apk"])
def test_without_pango_the_package_is_named(
    monkeypatch: pytest.MonkeyPatch, manager: str
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(shutil, "which", lambda name: name if name == manager else None)
    error = OSError("cannot load library 'libpango-1.0-0': libpango-1.0-0: cannot open shared ...")
    said = missing.pango_words(error)
    assert said and missing.PANGO[manager] in said and "\n" not in said
    assert missing.pango_words(OSError(28, "No space left on device")) is None


def test_every_library_of_an_extra_is_declared_there() -> None:
    """A module that is imported and comes with an extra stands in the table that names it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = {
        "fontTools": "fonttools", "markdown_it": "markdown-it-py", "PIL": "pillow",
        "fontpkg_source_sans_3": "fontpkg-source-sans-3", "tinycss2": "weasyprint",
    }  # fmt: skip
    for extra, (_, modules) in missing.EXTRAS.items():
        declared = " ".join(project["optional-dependencies"][extra]).lower()
        for module in modules:
            assert names.get(module, module) in declared, module
