"""Sets up a bare machine and runs the demo or the tests, with the standard library alone.

``python3 -m reportgen.bootstrap demo`` installs what is missing and builds the demo archive;
``python3 -m reportgen.bootstrap test`` does the same and runs the tests (what follows the word,
or a ``--`` after it, is handed to pytest). System packages are installed only where a package
manager that we know is there, as root or through sudo, after saying what and how; everything else
goes into ``.venv`` of this checkout. A second run installs nothing.

The exit code is that of what was run; 2 when it could not be run at all.
"""

from __future__ import annotations

import ctypes
import hashlib
import importlib
import os
import shlex
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

USAGE = """\
usage: python3 -m reportgen.bootstrap demo
       python3 -m reportgen.bootstrap test [pytest arguments]

demo   install what is missing and build the demo archive, as PDF files
test   install what is missing and run the tests
"""


@dataclass(frozen=True)
class Need:
    """One thing the machine must have: what for, how to tell, and its package by manager."""

    what: str
    present: Callable[[], bool]
    packages: dict[str, str]
    required: bool = True
    """Whether to give up when it cannot be installed."""


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
    # Without this a module installed a moment ago is not seen.
    importlib.invalidate_caches()
    try:
        import ensurepip
        import venv  # noqa: F401
    except ImportError:
        return False
    # The pip to install lies beside the module or, in a distribution's Python, in a shared folder.
    bundled = Path(ensurepip.__file__).parent / "_bundled"
    shared = sysconfig.get_config_var("WHEEL_PKG_DIR")
    return bundled.is_dir() or bool(shared and any(Path(shared).glob("pip-*.whl")))


PYTHON = f"python3.{sys.version_info.minor}"

NEEDS = (
    Need(
        "virtual environments for Python",
        _has_venv,
        {"apt-get": f"{PYTHON}-venv", "apk": "py3-pip", "dnf": "python3-pip",
         "zypper": f"{PYTHON.replace('.', '')}-pip", "pacman": "python-pip"},
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
"""What the demo needs."""

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
    # Ubuntu has no such package, only a snap, which cannot be installed everywhere.
    Need(
        "Chromium, which shows web pages to the tests",
        _program("chromium", "chromium-browser", "google-chrome", "google-chrome-stable"),
        {"apt-get": "chromium", "dnf": "chromium", "zypper": "chromium",
         "pacman": "chromium", "apk": "chromium"},
        required=False,
    ),
)  # fmt: skip
"""What the tests need besides."""

# Environment variables go through sudo only when they are part of the command. Another process
# may hold the package database, on a machine that updates itself at boot: wait for it.
_APT = ("env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q", "-o", "DPkg::Lock::Timeout=300")

MANAGERS: dict[str, tuple[tuple[str, ...], ...]] = {
    "apt-get": (
        (*_APT, "update"),
        (*_APT, "install", "-y", "--no-install-recommends"),
    ),
    "dnf": (("dnf", "install", "-y"),),
    "zypper": (("zypper", "--non-interactive", "install"),),
    "pacman": (("pacman", "-S", "--noconfirm", "--needed"),),
    "apk": (("apk", "add"),),
}
"""Package managers and their commands; the package names follow the last one."""

INSTALL = {
    "apt-get": "apt-get update && apt-get install",
    "dnf": "dnf install",
    "zypper": "zypper install",
    "pacman": "pacman -S",
    "apk": "apk add",
}
"""What a person types to install packages, by manager; the names follow."""

NEW_PYTHON = {
    "apt-get": "python3.11",
    "dnf": "python3.11",
    "zypper": "python311",
    "pacman": "python",
    "apk": "python3",
}
"""The package of a Python that is new enough, by manager."""

BY_HAND = {
    "darwin": (
        "On macOS this command installs nothing by itself. Install these by hand, with Homebrew:\n"
        "    brew install python pango\n"
        "then, in this folder:\n"
        "    python3 -m venv .venv\n"
        "    .venv/bin/pip install -e '.[manual]'\n"
        "    .venv/bin/reportgen build batches\n"
        "For the tests also `brew install qpdf poppler`, '.[test]' in place of '.[manual]', and\n"
        "    .venv/bin/pytest\n"
        "If Pango is then not found, tell the loader where Homebrew keeps it:\n"
        '    export DYLD_FALLBACK_LIBRARY_PATH="$(brew --prefix)/lib"\n'
    ),
    "win32": (
        "On Windows this command installs nothing by itself. Install MSYS2, and in its terminal:\n"
        "    pacman -S mingw-w64-x86_64-pango\n"
        "then, in this folder, in a command prompt of Windows:\n"
        "    py -m venv .venv\n"
        "    .venv\\Scripts\\pip install -e .[manual]\n"
        "    set WEASYPRINT_DLL_DIRECTORIES=C:\\msys64\\mingw64\\bin\n"
        "    .venv\\Scripts\\reportgen build batches\n"
        "Or take a Debian or Ubuntu in the Windows Subsystem for Linux: there this command works.\n"
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


@dataclass(frozen=True)
class Step:
    """One command of the installation, and whether to give up when it fails."""

    command: list[str]
    required: bool = True


def steps(manager: str, needs: Sequence[Need], before: Sequence[str]) -> list[Step]:
    """Return the steps that meet some needs.

    What the tests can do without comes last, a step each, so that its failing spoils nothing.
    """
    *first, install = MANAGERS[manager]
    todo = [Step([*before, *command]) for command in first]
    required = [need for need in needs if need.required]
    if required:
        todo.append(Step([*before, *install, *package_names(required, manager)]))
    for need in needs:
        if not need.required:
            todo.append(Step([*before, *install, need.packages[manager]], required=False))
    return todo


def _listed(needs: Sequence[Need]) -> str:
    return "This machine lacks:\n" + "\n".join(f"    {need.what}" for need in needs)


def announcement(lacking: Sequence[Need], manager: str, before: Sequence[str]) -> str:
    """Return what is said before system packages are installed."""
    how = "through sudo, which may ask for your password" if before else "as root"
    packages = " ".join(package_names(lacking, manager))
    return f"{_listed(lacking)}\nInstalling with {manager}, {how}: {packages}"


def refusal(lacking: Sequence[Need], manager: str | None) -> str:
    """Return what is said where system packages cannot be installed: what is to be done by hand."""
    if manager is None:
        return (
            f"{_listed(lacking)}\n"
            f"and has none of the package managers known here ({', '.join(MANAGERS)}).\n"
            "Install these by hand, then run this command again."
        )
    packages = " ".join(package_names(lacking, manager))
    return (
        f"{_listed(lacking)}\n"
        "Installing that takes root, and there is no sudo. As root, run:\n"
        f"    {INSTALL[manager]} {packages}\nthen run this command again."
    )


def old_python(version: str, manager: str | None) -> str:
    """Return what is said when Python is too old: which one is needed and how it may be had."""
    text = f"Python {OLDEST[0]}.{OLDEST[1]} or newer is needed; this is {version}."
    if manager is None:
        return text
    return f"{text}\nWhere the system has one: {INSTALL[manager]} {NEW_PYTHON[manager]}"


def install_system_packages(needs: Sequence[Need]) -> None:
    """Install what the machine lacks, or raise :class:`CannotSetUp` with what to do by hand."""
    lacking = missing(needs)
    if not lacking:
        return
    manager = find_manager()
    before = privilege(os.geteuid())
    if manager is None or before is None:
        if any(need.required for need in lacking):
            raise CannotSetUp(refusal(lacking, manager))
        print(f"{_listed(lacking)}\nGoing on without.", flush=True)
        return
    print(announcement(lacking, manager, before), flush=True)
    for step in steps(manager, lacking, before):
        print("+ " + shlex.join(step.command), flush=True)
        if subprocess.run(step.command, stdin=subprocess.DEVNULL).returncode == 0:
            continue
        if step.required:
            raise CannotSetUp(f"`{shlex.join(step.command)}` failed; what it said stands above.")
        print("That failed; going on without.", flush=True)
    still = [need for need in missing(needs) if need.required]
    if still:
        # Not an end: a library may lie where the loader finds it and this probe does not.
        print(f"{_listed(still)}\nafter installing, too. Going on all the same.", flush=True)


def fingerprint(extras: str) -> str:
    """Return what the virtual environment depends on: project, Python, place, extras."""
    parts = (
        (ROOT / "pyproject.toml").read_bytes(),
        (ROOT / "reportgen" / "__init__.py").read_bytes(),
        (VENV / "pyvenv.cfg").read_bytes(),
        str(ROOT).encode(),
        extras.encode(),
    )
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def _bin(name: str) -> str:
    return str(VENV / "bin" / name)


def _succeeds(*command: str) -> bool:
    try:
        done = subprocess.run(
            command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
    except OSError:
        return False
    return done.returncode == 0


def _venv_runs() -> bool:
    """Whether ``.venv`` has a Python that starts and is new enough."""
    return (VENV / "pyvenv.cfg").is_file() and _succeeds(
        _bin("python"), "-c", f"import sys; sys.exit(sys.version_info < {OLDEST})"
    )


def is_set_up(extras: str) -> bool:
    """Return whether ``.venv`` holds this project as it is now; ``test`` holds all of the demo."""
    if not STAMP.is_file() or not _venv_runs():
        return False
    return STAMP.read_text(encoding="utf-8").strip() in {fingerprint(extras), fingerprint("test")}


def make_virtual_environment() -> None:
    """Make ``.venv`` where it is missing or broken; nothing outside of it is touched."""
    runs = _venv_runs()
    # An attempt without Debian's venv package leaves a .venv without pip.
    if runs and _succeeds(_bin("python"), "-m", "pip", "--version"):
        return
    clear = [] if runs or not VENV.exists() else ["--clear"]
    print(f"+ {shlex.join([sys.executable, '-m', 'venv', *clear, '.venv'])}", flush=True)
    if subprocess.run([sys.executable, "-m", "venv", *clear, str(VENV)]).returncode:
        raise CannotSetUp("The virtual environment .venv could not be made.")


def install_python_packages(extras: str) -> None:
    """Make ``.venv`` and install this project into it; nothing when that has been done."""
    if is_set_up(extras):
        return
    make_virtual_environment()
    target = f".[{extras}]" if extras else "."
    command = ["-m", "pip", "install", "-q", "--disable-pip-version-check", "-e", target]
    print(f"+ .venv/bin/python {shlex.join(command)}    (takes a minute or two)", flush=True)
    STAMP.unlink(missing_ok=True)
    if subprocess.run([_bin("python"), *command], cwd=ROOT, stdin=subprocess.DEVNULL).returncode:
        raise CannotSetUp("pip could not install the packages; what it said stands above.")
    STAMP.write_text(fingerprint(extras) + "\n", encoding="utf-8")


def run(command: Sequence[str]) -> int:
    """Run a command in the checkout; its exit code, or 128 + the signal that ended it."""
    print(f"+ {shlex.join(command).replace(str(VENV), '.venv')}", flush=True)
    code = subprocess.run(command, cwd=ROOT).returncode
    return code if code >= 0 else 128 - code


def pytest_arguments(given: Sequence[str]) -> list[str]:
    """Return what is handed to pytest: all that was given, but for a ``--`` in front."""
    return list(given[1:] if given[:1] == ["--"] else given)


def _understood(arguments: Sequence[str]) -> bool:
    return bool(arguments) and (arguments[0] == "test" or list(arguments) == ["demo"])


def main(arguments: Sequence[str]) -> int:
    """Set up and run; returns the exit code of what was run, 2 when it could not be."""
    if list(arguments) in (["-h"], ["--help"]):
        print(USAGE, end="")
        return 0
    if not _understood(arguments):
        print(USAGE, end="", file=sys.stderr)
        return 2
    if sys.version_info < OLDEST:
        print(old_python(sys.version.split()[0], find_manager()), file=sys.stderr)
        return 2
    if sys.platform in BY_HAND:
        print(BY_HAND[sys.platform], end="")
        return 2
    testing = arguments[0] == "test"
    try:
        install_system_packages([*NEEDS, *(TEST_NEEDS if testing else ())])
        install_python_packages("test" if testing else "manual")
    except CannotSetUp as error:
        print(error, file=sys.stderr)
        return 2
    if testing:
        return run([_bin("python"), "-m", "pytest", *pytest_arguments(arguments[1:])])
    code = run([_bin("python"), "-m", "reportgen", "build", "batches"])
    output = ROOT / "batches" / "build"
    if any(output.rglob("*.pdf")):
        print(f"The sheets and records are in {output}")
    return code


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
