"""Every rule of the loader has a page, its failing example fails, and no other rule is printed."""

from __future__ import annotations

import ast
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml

from reportgen.checks.base import names
from reportgen.loading import load_archive
from reportgen.record.finding import Finding
from reportgen.record.rules import RULES, Rule, RuleGroup
from reportgen.record.source import source_from_bytes
from reportgen.record.yamltree import parse
from reportgen.verbs.explain import text_of_rule

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "tests" / "example"
RECORD = "2026/2026-01.yaml"
IN_WORDS = {"long-text", "too-many-values", "yaml-syntax", "plan-not-read"}
"""Rules whose example would be too long to print, is not known, or takes a second record."""
TELLS = {"finding_of", "refuse", "stop", "Fault", "_here", "_Refusal", "_said", "_fault"}
"""What a rule is given to by its name, as the first argument."""


def laid_over(base: Any, patch: Any) -> Any:
    if isinstance(base, dict) and isinstance(patch, dict):
        return {**base, **{key: laid_over(base.get(key), value) for key, value in patch.items()}}
    return patch


def of_yaml(text: str) -> list[Finding]:
    source, found = source_from_bytes(text.encode(), "2026-01.yaml")
    return found if source is None else [*found, *parse(source)[1]]


def of_content(text: str, folder: Path) -> list[Finding]:
    shutil.copytree(EXAMPLE, folder)
    parts = yaml.load(text, yaml.BaseLoader)
    files = {f"{name}.yaml": parts.pop(name) for name in ("brewery", "stock") if name in parts}
    for name, over in {**files, RECORD: parts}.items():
        whole = laid_over(yaml.load((folder / name).read_text(), yaml.BaseLoader), over)
        (folder / name).write_text(yaml.safe_dump(whole, sort_keys=False))
    return list(load_archive(folder, names()).findings)


def found_in(rule: Rule, text: str, folder: Path) -> list[str]:
    found = of_content(text, folder) if rule.about is RuleGroup.CONTENT else of_yaml(text)
    return [finding.rule for finding in found]


SHOWN = [
    rule for rule in RULES.values()
    if rule.about in (RuleGroup.YAML, RuleGroup.CONTENT) and rule.name not in IN_WORDS
    or rule.name in ("merge-conflict", "tab-indent", "space-indent", "control-character",
                     "bidi-control")
]  # fmt: skip


@pytest.mark.parametrize("rule", SHOWN, ids=lambda rule: rule.name)
def test_the_examples_of_a_rule_fail_and_pass(rule: Rule, tmp_path: Path) -> None:
    assert set(found_in(rule, rule.fails, tmp_path / "fails")) == {rule.name}
    assert found_in(rule, rule.passes, tmp_path / "passes") == []


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.name)
def test_explain_prints_a_whole_page(rule: Rule) -> None:
    page = text_of_rule(rule)
    assert rule.title in page and rule.text in page and f"Fix: {rule.fix}." in page
    assert not re.search("[\u200b\u202e\u00a0\t]", page), "what cannot be seen is printed"


def literals(node: ast.expr) -> list[str]:
    """Return the texts that an argument can be."""
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else []
    return [*literals(node.body), *literals(node.orelse)] if isinstance(node, ast.IfExp) else []


def test_no_rule_is_printed_that_explain_does_not_know() -> None:
    """A rule of the loader comes from the table, one of a check from the check's own file."""
    told: set[str] = set()
    for path in sorted((ROOT / "reportgen").rglob("*.py")):
        name = path.relative_to(ROOT / "reportgen").as_posix()
        for node in ast.walk(ast.parse(path.read_text())):
            if not isinstance(node, ast.Call):
                continue
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(
                node.func, "attr", "")
            if called == "refuse" and isinstance(node.func, ast.Name):
                continue  # what refuses a quantity, not a finding
            if called == "Finding":
                assert name in ("record/rules.py", "checks/base.py", "archive/summary.py"), name
            elif called in TELLS and node.args and name.startswith("record/"):
                told.update(literals(node.args[0]))
    assert told <= set(RULES), told - set(RULES)
    assert not set(RULES) & set(names()), "a rule and a check of one name"
