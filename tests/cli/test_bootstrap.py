"""Planning of the set-up: what is installed, with what, and what is said where it cannot act."""

from __future__ import annotations

import ast
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from reportgen import bootstrap
from reportgen.bootstrap import MANAGERS, NEEDS, TEST_NEEDS, Need

ROOT = Path(__file__).parents[2]


def test_it_needs_the_standard_library_only() -> None:
    for name in ("bootstrap", "__init__"):
        tree = ast.parse((ROOT / "reportgen" / f"{name}.py").read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                modules = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                modules = [node.module or ""]
            else:
                continue
            for module in modules:
                assert module.split(".")[0] in sys.stdlib_module_names, module


@pytest.mark.parametrize("manager", MANAGERS)
def test_every_need_has_a_package_for_every_manager(manager: str) -> None:
    for need in (*NEEDS, *TEST_NEEDS):
        assert need.packages[manager]


def test_only_what_is_missing_is_installed_each_once() -> None:
    needs = [
        Need("there", lambda: True, {"dnf": "there"}),
        Need("pango", lambda: False, {"dnf": "pango"}),
        Need("pango again", lambda: False, {"dnf": "pango"}),
    ]
    lacking = bootstrap.missing(needs)
    assert bootstrap.package_names(lacking, "dnf") == ["pango"]


def test_commands_as_root_with_sudo_and_with_neither() -> None:
    assert bootstrap.privilege(0) == []
    assert bootstrap.privilege(1000, lambda name: "/usr/bin/sudo") == ["sudo"]
    assert bootstrap.privilege(1000, lambda name: None) is None
    assert bootstrap.commands("apt-get", ["qpdf"], ["sudo"]) == [
        ["sudo", "apt-get", "update", "-q"],
        ["sudo", "apt-get", "install", "-q", "-y", "--no-install-recommends", "qpdf"],
    ]


def test_without_root_it_says_what_to_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bootstrap, "find_manager", lambda: "apt-get")
    monkeypatch.setattr(bootstrap, "privilege", lambda uid: None)
    with pytest.raises(bootstrap.CannotSetUp, match="As root, run:\n    apt-get update"):
        bootstrap.install_system_packages([Need("x", lambda: False, {"apt-get": "x"})])


def test_without_a_package_manager_it_says_what_is_lacking(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bootstrap, "find_manager", lambda: None)
    with pytest.raises(bootstrap.CannotSetUp, match="the thing"):
        bootstrap.install_system_packages([Need("the thing", lambda: False, {})])


@pytest.mark.parametrize("platform", ["darwin", "win32"])
def test_other_systems_get_the_steps(
    platform: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    assert bootstrap.main(["demo"]) == 2
    said = capsys.readouterr().out
    assert "pango" in said and ".venv" in said


def test_misuse_prints_the_usage(capsys: pytest.CaptureFixture[str]) -> None:
    assert bootstrap.main([]) == 2
    assert bootstrap.main(["frobnicate"]) == 2
    assert "usage:" in capsys.readouterr().out


def test_the_wheel_holds_templates_and_schema(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(tmp_path), str(ROOT)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=240)
    assert done.returncode == 0, done.stderr
    wheel = next(tmp_path.glob("reportgen-*.whl"))
    names = zipfile.ZipFile(wheel).namelist()
    assert "reportgen/_data/schema/record.json" in names
    assert any(n.startswith("reportgen/_data/templates/") for n in names)
    assert not any(n.startswith(("tests/", "batches/")) for n in names)
    entry = next(n for n in names if n.endswith("entry_points.txt"))
    assert "reportgen = reportgen.cli:main" in zipfile.ZipFile(wheel).read(entry).decode()
