"""The wheel holds what is needed at run time, and the test libraries are all there."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import distribution
from pathlib import Path

import pytest

import reportgen

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    (found,) = folder.glob("*.whl")
    return found


def test_the_wheel_is_of_this_version_for_any_machine(wheel: Path) -> None:
    assert wheel.name == f"reportgen-{reportgen.__version__}-py3-none-any.whl"


def test_the_wheel_holds_every_template_and_schema_and_nothing_of_the_checkout(
    wheel: Path,
) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder in ("templates", "schema"):
        files = [p.relative_to(ROOT) for p in (ROOT / folder).rglob("*") if p.is_file()]
        assert files, folder
        for file in files:
            assert f"reportgen/_data/{file.as_posix()}" in names
    assert all(name.startswith(("reportgen/", "reportgen-")) for name in names)
    assert not [n for n in names if n.endswith((".pyc", ".pdf", ".ttf", ".otf", ".woff2"))]


def test_the_wheel_brings_the_command_and_the_licence(wheel: Path) -> None:
    archive = zipfile.ZipFile(wheel)
    (entries,) = [n for n in archive.namelist() if n.endswith("entry_points.txt")]
    assert "reportgen = reportgen.cli:main" in archive.read(entries).decode()
    assert any(n.endswith("licenses/LICENSE") for n in archive.namelist())


def test_an_unpacked_wheel_finds_its_own_templates_and_schemas(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    script = (
        f"import sys; sys.path.insert(0, {str(tmp_path)!r})\n"
        "from reportgen.resources import schema_dir, templates_dir\n"
        "print(templates_dir()); print(schema_dir())"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", script], cwd=tmp_path, capture_output=True, text=True
    )
    templates, schema = (Path(line) for line in done.stdout.splitlines())
    assert templates == tmp_path / "reportgen" / "_data" / "templates"
    assert (templates / "tokens.css").is_file()
    assert (schema / "record.json").is_file()


@pytest.mark.parametrize(
    "requirement", [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]
)
def test_every_library_is_installed_so_that_no_test_is_skipped_for_want_of_one(
    requirement: str,
) -> None:
    name = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert name and distribution(name.group())
