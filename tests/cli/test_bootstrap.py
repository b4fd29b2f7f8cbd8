"""Planning of the set-up: what is installed, with what, and what is said where it cannot act."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from reportgen import bootstrap
from reportgen.bootstrap import MANAGERS, NEEDS, TEST_NEEDS, Need

ROOT = Path(__file__).parents[2]


def there(name: str) -> Need:
    return Need(name, lambda: True, dict.fromkeys(MANAGERS, name))


def lacking(name: str, package: str = "", required: bool = True) -> Need:
    return Need(name, lambda: False, dict.fromkeys(MANAGERS, package or name), required)


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


def test_debian_gets_the_packages_that_the_renderer_asks_for() -> None:
    # Names from the installation page of WeasyPrint's documentation.
    names = bootstrap.package_names(NEEDS, "apt-get")
    assert {"libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"} <= set(names)
    assert f"python3.{sys.version_info.minor}-venv" in names


def test_only_what_is_missing_is_installed_each_once() -> None:
    needs = [there("qpdf"), lacking("text", "pango"), lacking("fonts", "pango")]
    assert bootstrap.package_names(bootstrap.missing(needs), "dnf") == ["pango"]


def test_the_probes_tell_what_is_there_from_what_is_not() -> None:
    assert bootstrap._library("libpango-1.0.so.0")()
    assert not bootstrap._library("libno-such-library.so.99")()
    assert bootstrap._program("no-such-program", "sh")()
    assert not bootstrap._program("no-such-program")()


@pytest.mark.parametrize("manager", MANAGERS)
def test_the_manager_is_the_one_that_is_there(manager: str) -> None:
    assert bootstrap.find_manager(lambda name: f"/bin/{name}" if name == manager else None) == (
        manager
    )
    assert bootstrap.find_manager(lambda name: None) is None


def test_root_sudo_and_neither() -> None:
    assert bootstrap.privilege(0, lambda name: None) == []
    assert bootstrap.privilege(1000, lambda name: "/usr/bin/sudo") == ["sudo"]
    assert bootstrap.privilege(1000, lambda name: None) is None


def test_steps_on_debian_fetch_the_lists_first_and_ask_nothing() -> None:
    first, second = (s.command for s in bootstrap.steps("apt-get", [lacking("qpdf")], ["sudo"]))
    assert first[0] == second[0] == "sudo"
    assert first[-1] == "update"
    assert second[-4:] == ["install", "-y", "--no-install-recommends", "qpdf"]
    # Through sudo the environment is lost, unless the command itself sets it.
    assert second[1:3] == ["env", "DEBIAN_FRONTEND=noninteractive"]


@pytest.mark.parametrize(
    ("manager", "expected"),
    [
        ("dnf", "dnf install -y pango"),
        ("zypper", "zypper --non-interactive install pango"),
        ("pacman", "pacman -S --noconfirm --needed pango"),
        ("apk", "apk add pango"),
    ],
)
def test_steps_elsewhere(manager: str, expected: str) -> None:
    (only,) = bootstrap.steps(manager, [lacking("text", "pango")], [])
    assert " ".join(only.command) == expected


def test_what_the_tests_can_do_without_is_a_step_of_its_own() -> None:
    needs = [lacking("web", "browser", required=False), lacking("a"), lacking("b")]
    required, optional = bootstrap.steps("apk", needs, [])
    assert required.required and required.command == ["apk", "add", "a", "b"]
    assert not optional.required and optional.command == ["apk", "add", "browser"]


def test_before_installing_it_says_what_with_what_and_how() -> None:
    as_root = bootstrap.announcement([lacking("Pango, which sets the text", "pango")], "dnf", [])
    assert "Pango, which sets the text" in as_root
    assert as_root.endswith("Installing with dnf, as root: pango")
    assert "password" in bootstrap.announcement([lacking("x")], "dnf", ["sudo"])


def test_without_root_or_sudo_it_says_what_to_run() -> None:
    said = bootstrap.refusal([lacking("the thing", "thing")], "apk")
    assert "the thing" in said and "As root, run:\n    apk add thing\n" in said


def test_without_a_package_manager_it_says_what_is_lacking() -> None:
    said = bootstrap.refusal([lacking("the thing")], None)
    assert "the thing" in said and "apt-get" in said and "by hand" in said


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """A Debian where one is root and every command but those of `fail` succeeds."""
    ran: list[list[str]] = []

    def run(command: Sequence[str], **_: object) -> subprocess.CompletedProcess[str]:
        ran.append(list(command))
        return subprocess.CompletedProcess(command, 100 if "fail" in command else 0)

    monkeypatch.setattr(bootstrap, "find_manager", lambda: "apt-get")
    monkeypatch.setattr(bootstrap, "privilege", lambda uid: [])
    monkeypatch.setattr(subprocess, "run", run)
    return ran


def test_nothing_is_run_where_nothing_is_missing(
    machine: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    bootstrap.install_system_packages([there("a"), there("b")])
    assert machine == []
    assert capsys.readouterr().out == ""


def test_a_failed_installation_ends_it(machine: list[list[str]]) -> None:
    with pytest.raises(bootstrap.CannotSetUp, match="fail` failed"):
        bootstrap.install_system_packages([lacking("a", "fail")])


def test_a_failed_installation_of_something_optional_does_not(
    machine: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    bootstrap.install_system_packages([lacking("a", "fail", required=False)])
    assert machine[-1][-1] == "fail"
    assert "going on without" in capsys.readouterr().out


def test_what_is_still_missing_afterwards_is_said(
    machine: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    bootstrap.install_system_packages([lacking("the thing", "thing")])
    assert "the thing\nafter installing, too." in capsys.readouterr().out


def test_without_root_it_refuses_what_it_needs_and_goes_on_without_the_rest(
    machine: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bootstrap, "privilege", lambda uid: None)
    with pytest.raises(bootstrap.CannotSetUp, match="As root, run"):
        bootstrap.install_system_packages([lacking("a")])
    bootstrap.install_system_packages([lacking("a", required=False)])
    assert machine == []


@pytest.mark.parametrize(
    ("platform", "words"),
    [("darwin", ("brew install", "pango")), ("win32", ("MSYS2", "WEASYPRINT_DLL_DIRECTORIES"))],
)
def test_other_systems_get_the_steps(
    platform: str,
    words: tuple[str, ...],
    machine: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    assert bootstrap.main(["demo"]) == 2
    said = capsys.readouterr().out
    assert all(word in said for word in (*words, ".venv", "build batches"))
    assert machine == []


@pytest.mark.parametrize("arguments", [[], ["frobnicate"], ["demo", "more"]])
def test_misuse_prints_the_usage(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert bootstrap.main(arguments) == 2
    assert "usage:" in capsys.readouterr().err


def test_help_is_no_misuse(capsys: pytest.CaptureFixture[str]) -> None:
    assert bootstrap.main(["--help"]) == 0
    assert "usage:" in capsys.readouterr().out


def test_an_old_python_is_named_with_the_way_to_a_newer_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "version_info", (3, 10, 12, "final", 0))
    monkeypatch.setattr(bootstrap, "find_manager", lambda: "apt-get")
    assert bootstrap.main(["demo"]) == 2
    said = capsys.readouterr().err
    assert "3.11 or newer" in said and "apt-get install python3.11" in said


def test_pytest_gets_what_follows_with_or_without_a_dash() -> None:
    assert bootstrap.pytest_arguments([]) == []
    assert bootstrap.pytest_arguments(["-k", "units"]) == ["-k", "units"]
    assert bootstrap.pytest_arguments(["--", "-k", "units"]) == ["-k", "units"]


@pytest.mark.parametrize(
    ("script", "code"),
    [
        ("raise SystemExit(0)", 0),
        ("raise SystemExit(5)", 5),
        ("import os; os.kill(os.getpid(), 15)", 143),
    ],
)
def test_the_exit_code_is_that_of_what_was_run(script: str, code: int) -> None:
    assert bootstrap.run([sys.executable, "-c", script]) == code


@pytest.fixture
def checkout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A checkout with a finished virtual environment, made without any package."""
    (tmp_path / "reportgen").mkdir()
    (tmp_path / "reportgen" / "__init__.py").write_text("", encoding="utf-8")
    (tmp_path / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    monkeypatch.setattr(bootstrap, "ROOT", tmp_path)
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "STAMP", tmp_path / ".venv" / ".set-up")
    subprocess.run(
        [sys.executable, "-m", "venv", "--without-pip", ".venv"], cwd=tmp_path, check=True
    )
    bootstrap.STAMP.write_text(bootstrap.fingerprint("") + "\n", encoding="utf-8")
    return tmp_path


def test_a_second_run_finds_it_set_up(
    checkout: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    bootstrap.install_python_packages("")
    assert capsys.readouterr().out == ""
    # The tests need more than the demo; the demo needs no more than the tests.
    assert not bootstrap.is_set_up("test")
    bootstrap.STAMP.write_text(bootstrap.fingerprint("test") + "\n", encoding="utf-8")
    assert bootstrap.is_set_up("test") and bootstrap.is_set_up("")


def test_a_changed_project_file_or_a_broken_python_is_set_up_again(checkout: Path) -> None:
    project = checkout / "pyproject.toml"
    project.write_text("[project]\ndependencies = ['x']\n", encoding="utf-8")
    assert not bootstrap.is_set_up("")
    project.write_text("[project]\n", encoding="utf-8")
    assert bootstrap.is_set_up("")
    (checkout / ".venv" / "bin" / "python").unlink()
    assert not bootstrap.is_set_up("")


def test_a_failed_pip_leaves_no_stamp(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bootstrap, "make_virtual_environment", lambda: None)
    # The environment has no pip, so the installation fails for certain.
    with pytest.raises(bootstrap.CannotSetUp, match="pip could not install"):
        bootstrap.install_python_packages("test")
    assert not bootstrap.STAMP.exists()
