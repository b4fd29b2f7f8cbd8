"""Sets up a bare machine and runs the demo or the tests, with the standard library alone.

``python3 -m reportgen.bootstrap demo`` installs what is missing and builds the demo archive;
``python3 -m reportgen.bootstrap test`` does the same and runs the tests (what follows the word is
handed to pytest). System packages are installed only where a package manager that we know is
there, as root or through sudo, after saying what and how; everything else goes into ``.venv`` of
this checkout. A second run installs nothing.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import hashlib
import os
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / ".set-up"
OLDEST = (3, 11)


@dataclass(frozen=True)
class Need:
    """One thing the machine must have: what for, how to tell, and its package by manager."""

    what: str
    present: Callable[[], bool]
    packages: dict[str, str]


def _library(name: str) -> Callable[[], bool]:
    """Whether the loader finds a shared library under this exact name."""

    def present() -> bool:
        try:
            ctypes.CDLL(name)
        except OSError:
            return False
        return True

    return present


def _program(*names: str) -> Callable[[], bool]:
    return lambda: any(shutil.which(name) for name in names)


def _has_venv() -> bool:
    """Whether virtual environments with pip can be made; Debian splits that off."""
    try:
        import ensurepip
        import venv  # noqa: F401
    except ImportError:
        return False
    # Debian keeps the module and removes what it would install.
    bundled = Path(ensurepip.__file__).parent / "_bundled"
    wheels = sysconfig.get_config_var("WHEEL_PKG_DIR")
    return bundled.is_dir() or bool(wheels and Path(wheels).is_dir())


PYTHON = f"python3.{sys.version_info.minor}"

NEEDS = (
    Need(
        "virtual environments for Python",
        _has_venv,
        {"apt-get": f"{PYTHON}-venv", "apk": "py3-pip", "dnf": "python3-pip",
         "zypper": "python3-pip", "pacman": "python-pip"},
    ),
    Need(
        "Pango, which sets the text",
        _library("libpango-1.0.so.0"),
        {"apt-get": "libpango-1.0-0", "dnf": "pango", "zypper": "libpango-1_0-0",
         "pacman": "pango", "apk": "pango"},
    ),
    Need(
        "Pango's FreeType part",
        _library("libpangoft2-1.0.so.0"),
        {"apt-get": "libpangoft2-1.0-0", "dnf": "pango", "zypper": "libpango-1_0-0",
         "pacman": "pango", "apk": "pango"},
    ),
    Need(
        "HarfBuzz, which embeds fonts",
        _library("libharfbuzz-subset.so.0"),
        {"apt-get": "libharfbuzz-subset0", "dnf": "harfbuzz", "zypper": "libharfbuzz-subset0",
         "pacman": "harfbuzz", "apk": "harfbuzz-subset"},
    ),
    Need(
        "fontconfig, which finds fonts",
        lambda: Path("/etc/fonts/fonts.conf").is_file(),
        {"apt-get": "fontconfig-config", "dnf": "fontconfig", "zypper": "fontconfig",
         "pacman": "fontconfig", "apk": "fontconfig"},
    ),
)  # fmt: skip

TEST_NEEDS = (
    Need(
        "qpdf, which checks PDF files",
        _program("qpdf"),
        {"apt-get": "qpdf", "dnf": "qpdf", "zypper": "qpdf", "pacman": "qpdf", "apk": "qpdf"},
    ),
    Need(
        "poppler's tools, which read PDF files back",
        _program("pdftoppm"),
        {"apt-get": "poppler-utils", "dnf": "poppler-utils", "zypper": "poppler-tools",
         "pacman": "poppler", "apk": "poppler-utils"},
    ),
    Need(
        "git, which the history tests use",
        _program("git"),
        {"apt-get": "git", "dnf": "git", "zypper": "git", "pacman": "git", "apk": "git"},
    ),
)  # fmt: skip

MANAGERS: dict[str, tuple[tuple[str, ...], ...]] = {
    "apt-get": (
        ("apt-get", "update", "-q"),
        ("apt-get", "install", "-q", "-y", "--no-install-recommends"),
    ),
    "dnf": (("dnf", "install", "-y"),),
    "zypper": (("zypper", "--non-interactive", "install"),),
    "pacman": (("pacman", "-S", "--noconfirm", "--needed"),),
    "apk": (("apk", "add"),),
}
"""Package managers and their commands; the package names follow the last one."""

BY_HAND = {
    "darwin": (
        "On macOS install these by hand, with Homebrew:\n"
        "    brew install python pango qpdf poppler\n"
        "then, in this folder:\n"
        "    python3 -m venv .venv\n"
        "    .venv/bin/pip install -e '.[test]'\n"
        "    .venv/bin/reportgen build batches        (or: .venv/bin/pytest)\n"
    ),
    "win32": (
        "On Windows install MSYS2, and in its terminal:\n"
        "    pacman -S mingw-w64-x86_64-pango mingw-w64-x86_64-qpdf mingw-w64-x86_64-poppler\n"
        "then, in this folder, in a Windows terminal:\n"
        "    py -m venv .venv\n"
        "    .venv\\Scripts\\pip install -e .[test]\n"
        "    set WEASYPRINT_DLL_DIRECTORIES=C:\\msys64\\mingw64\\bin\n"
        "    .venv\\Scripts\\reportgen build batches   (or: .venv\\Scripts\\pytest)\n"
    ),
}


class CannotSetUp(Exception):
    """The machine lacks something that cannot be installed from here; the message says what."""


def missing(needs: Sequence[Need]) -> list[Need]:
    """Return the needs that the machine does not meet."""
    return [need for need in needs if not need.present()]


def package_names(needs: Sequence[Need], manager: str) -> list[str]:
    """Return the packages that meet some needs, each once, in order."""
    return list(dict.fromkeys(need.packages[manager] for need in needs))


def find_manager(which: Callable[[str], str | None] = shutil.which) -> str | None:
    """Return the package manager of this machine, or None."""
    return next((name for name in MANAGERS if which(name)), None)


def privilege(uid: int, which: Callable[[str], str | None] = shutil.which) -> list[str] | None:
    """Return what must stand before a command to run it as root; None when there is no way."""
    if uid == 0:
        return []
    return ["sudo"] if which("sudo") else None


def commands(manager: str, packages: Sequence[str], before: Sequence[str]) -> list[list[str]]:
    """Return the commands that install some packages."""
    *first, last = MANAGERS[manager]
    return [[*before, *one] for one in first] + [[*before, *last, *packages]]


def install_system_packages(needs: Sequence[Need]) -> None:
    """Install what the machine lacks, or raise :class:`CannotSetUp` with what to do by hand."""
    lacking = missing(needs)
    if not lacking:
        return
    listed = "\n".join(f"    {need.what}" for need in lacking)
    manager = find_manager()
    if manager is None:
        raise CannotSetUp(f"This machine lacks:\n{listed}\nand no package manager known here.")
    packages = package_names(lacking, manager)
    before = privilege(os.geteuid())
    if before is None:
        raise CannotSetUp(
            f"This machine lacks:\n{listed}\nAs root, run:\n    "
            + "\n    ".join(" ".join(c) for c in commands(manager, packages, []))
        )
    print(f"This machine lacks:\n{listed}")
    print(f"Installing with {manager}: {' '.join(packages)}", flush=True)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for command in commands(manager, packages, before):
        print("+ " + " ".join(command), flush=True)
        if subprocess.run(command, env=environment, stdin=subprocess.DEVNULL).returncode:
            raise CannotSetUp(f"`{' '.join(command)}` failed; what it said stands above.")


def fingerprint(extras: str) -> str:
    """Return what the virtual environment depends on: the project file, Python, the extras."""
    project = (ROOT / "pyproject.toml").read_bytes()
    version = (ROOT / "reportgen" / "__init__.py").read_bytes()
    return hashlib.sha256(project + version + sys.version.encode() + extras.encode()).hexdigest()


def _bin(name: str) -> str:
    return str(VENV / "bin" / name)


def install_python_packages(extras: str) -> None:
    """Make ``.venv`` and install this project into it; nothing when that has been done."""
    wanted = fingerprint(extras)
    if STAMP.is_file() and wanted in STAMP.read_text(encoding="utf-8").split():
        return
    if not Path(_bin("python")).exists():
        print(f"+ {sys.executable} -m venv .venv", flush=True)
        if subprocess.run([sys.executable, "-m", "venv", str(VENV)]).returncode:
            raise CannotSetUp("the virtual environment .venv could not be made")
    target = f"{ROOT}[{extras}]" if extras else str(ROOT)
    command = [_bin("python"), "-m", "pip", "install", "-q", "--disable-pip-version-check",
               "-e", target]  # fmt: skip
    print(f"+ .venv/bin/pip install -e .{f'[{extras}]' if extras else ''}", flush=True)
    if subprocess.run(command, cwd=ROOT, stdin=subprocess.DEVNULL).returncode:
        raise CannotSetUp("pip could not install the packages; what it said stands above")
    with STAMP.open("a", encoding="utf-8") as file:
        file.write(wanted + "\n")


def run(command: Sequence[str]) -> int:
    """Run a command in the checkout and return its exit code."""
    return subprocess.run(command, cwd=ROOT).returncode


def main(arguments: Sequence[str]) -> int:
    """Set up and run; returns the exit code of what was run, 2 when it could not be."""
    if not arguments or arguments[0] not in ("demo", "test"):
        print("usage: python3 -m reportgen.bootstrap demo | test [pytest arguments]")
        return 2
    if sys.version_info < OLDEST:
        print(f"Python {OLDEST[0]}.{OLDEST[1]} or newer is needed; this is {sys.version.split()[0]}")
        return 2
    if sys.platform in BY_HAND:
        print(BY_HAND[sys.platform])
        return 2
    testing = arguments[0] == "test"
    try:
        install_system_packages([*NEEDS, *(TEST_NEEDS if testing else ())])
        install_python_packages("test" if testing else "")
    except CannotSetUp as error:
        print(error, file=sys.stderr)
        return 2
    if testing:
        return run([_bin("python"), "-m", "pytest", *arguments[1:]])
    code = run([_bin("python"), "-m", "reportgen", "build", "batches"])
    if code == 0:
        print(f"The sheets and records are in {ROOT / 'batches' / 'build'}")
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
