"""The wheel holds what is needed at run time, and the test libraries are all there."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import tomllib
import zipfile
from importlib.metadata import distribution
from pathlib import Path

import pytest
import yaml

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
        files = [
            p.relative_to(ROOT)
            for p in (ROOT / folder).rglob("*")
            if p.is_file() and "__pycache__" not in p.parts
        ]
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


def run(*command: str | Path, cwd: Path) -> str:
    """Run a command far from the checkout and return what it prints."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    done = subprocess.run(
        [str(part) for part in command],
        cwd=cwd, env=environment, capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_an_installed_wheel_brews_a_first_batch(wheel: Path, tmp_path: Path) -> None:
    """In an environment of its own, with the libraries of this one: nothing is fetched."""
    run(sys.executable, "-m", "venv", "--without-pip", "env", cwd=tmp_path)
    python = tmp_path / "env" / "bin" / "python"
    (site,) = (tmp_path / "env").glob("lib/python*/site-packages")
    run(sys.executable, "-m", "pip", "install", "--quiet", "--no-index", "--no-deps",
        "--target", site, wheel, cwd=tmp_path)  # fmt: skip
    # After the environment's own: what is installed there comes first.
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    home = Path(run(python, "-c", "import reportgen; print(reportgen.__file__)", cwd=tmp_path))
    assert home.is_relative_to(site)
    command = (python, "-m", "reportgen")
    assert run(*command, "--version", cwd=tmp_path) == f"reportgen {reportgen.__version__}\n"
    run(*command, "start", "house", cwd=tmp_path)
    house = tmp_path / "house"
    run(*command, "new", "2026-01", cwd=house)
    run(*command, "check", "--fail-on", "major", cwd=house)
    run(*command, "sheet", "--html", cwd=house)
    assert b"Mash" in (house / "build/sheets/2026-01-brew-day.html").read_bytes()
    run(*command, "sheet", "--lesson", cwd=house)
    assert (house / "build/sheets/2026-01-lesson.pdf").read_bytes().startswith(b"%PDF")
    pages = "from reportgen.report.manual import manual_html as m; print(len(m()))"
    assert int(run(python, "-c", pages, cwd=tmp_path)) > 30
    demo = "from reportgen.resources import demo_dir as d; print(d())"
    assert Path(run(python, "-c", demo, cwd=tmp_path).strip()).is_relative_to(site)


def test_the_source_distribution_builds_the_same_wheel(wheel: Path, tmp_path: Path) -> None:
    run(sys.executable, "-m", "hatchling", "build", "-t", "sdist", "-d", tmp_path, cwd=ROOT)
    (packed,) = tmp_path.glob("*.tar.gz")
    with tarfile.open(packed) as archive:
        names = archive.getnames()
        # Early releases of Python 3.11 have no filters yet.
        safely = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}
        archive.extractall(tmp_path, **safely)
    assert not [n for n in names if n.endswith((".pdf", ".pyc")) or "/build/" in n]
    source = tmp_path / f"reportgen-{reportgen.__version__}"
    # Its tests can be run from it: nothing that is kept in git is missing.
    if (ROOT / ".git").exists() and shutil.which("git"):
        kept = run("git", "ls-files", "-z", cwd=ROOT).split("\0")
        assert [name for name in kept if name and not (source / name).is_file()] == []
    run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", tmp_path, cwd=source)
    (again,) = tmp_path.glob("*.whl")
    assert zipfile.ZipFile(again).namelist() == zipfile.ZipFile(wheel).namelist()


def test_the_version_stands_in_one_place() -> None:
    assert "version" not in PROJECT and PROJECT["dynamic"] == ["version"]
    # The change list begins with it.
    changes = (ROOT / "templates/manual/guide/changes.md").read_text(encoding="utf-8")
    assert changes.startswith(f"**{reportgen.__version__}**")


@pytest.mark.parametrize("name", [".github/workflows/check.yml", "templates/start/ci.yml"])
def test_the_workflows_are_yaml_with_jobs(name: str) -> None:
    made = yaml.safe_load((ROOT / name).read_text(encoding="utf-8"))
    for job in made["jobs"].values():
        assert job["runs-on"] and job["steps"]
        assert all(("run" in step) != ("uses" in step) for step in job["steps"])


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


EXTRAS = PROJECT["optional-dependencies"]
NEEDED = [
    *PROJECT["dependencies"],
    *(name for extra in ("print", "manual", "test") for name in EXTRAS[extra]),
]


@pytest.mark.parametrize("requirement", [n for n in NEEDED if not n.startswith("reportgen[")])
def test_every_library_is_installed_so_that_no_test_is_skipped_for_want_of_one(
    requirement: str,
) -> None:
    name = re.match(r"[A-Za-z0-9._-]+", requirement)
    assert name and distribution(name.group())
