"""What to install when a library is not there: said in one line, by the system that it is.

Checking needs few libraries; printing and the manual need more, each an extra of the package.
"""

from __future__ import annotations

import shutil
import sys

EXTRAS = {
    "print": ("printing", ("weasyprint", "cssselect2", "tinycss2", "fontTools", "markdown_it",
                           "fontpkg_source_sans_3", "uharfbuzz", "pikepdf", "PIL")),
    "manual": ("the manual", ("pypdfium2",)),
}  # fmt: skip
"""What each extra is for, and the modules that it brings."""

PANGO = {
    "apt-get": "sudo apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0",
    "dnf": "sudo dnf install pango harfbuzz",
    "zypper": "sudo zypper install libpango-1_0-0 libharfbuzz-subset0",
    "pacman": "sudo pacman -S pango",
    "apk": "sudo apk add pango harfbuzz-subset fontconfig",
    "brew": "brew install pango",
    "win32": "install MSYS2, in it `pacman -S mingw-w64-x86_64-pango`, then set "
    "WEASYPRINT_DLL_DIRECTORIES=C:\\msys64\\mingw64\\bin",
}
"""How Pango is installed, by package manager or system."""


def library_words(module: str | None, verb: str) -> str | None:
    """Return what to do when a module of an extra is not installed; None for any other module.

    A verb that is an extra's own needs all of that.
    """
    top = (module or "").partition(".")[0]
    for extra, (purpose, modules) in EXTRAS.items():
        if top in modules:
            extra = verb if verb in EXTRAS else extra
            purpose, _ = EXTRAS[extra]
            return f"{purpose} needs {top}, which is not installed; fix: {install(extra)}"
    return None


def install(extra: str) -> str:
    """Return the command that adds an extra to this installation, however it was made."""
    wanted = f"'reportgen[{extra}]'"
    place = sys.prefix.replace("\\", "/")
    if "/pipx/venvs/" in place:
        return f"pipx install --force {wanted}"
    if "/uv/tools/" in place:
        return f"uv tool install --force {wanted}"
    return f"{sys.executable} -m pip install {wanted}"


def pango_words(error: OSError) -> str | None:
    """Return what to do when a library of the system could not be loaded; None for other errors.

    The loader's own message has no error number and names one library after another.
    """
    text = str(error)
    if error.errno is not None or "cannot load library" not in text:
        return None
    if sys.platform == "win32":
        manager = "win32"
    else:
        managers = ("brew",) if sys.platform == "darwin" else tuple(PANGO)
        manager = next((name for name in managers if shutil.which(name)), "")
    how = PANGO.get(manager, "install Pango with the package manager of your system")
    return f"printing needs Pango, a library of the system, which is not installed; fix: {how}"
