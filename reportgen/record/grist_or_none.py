"""What a plan needs because it has a grist, and what it cannot have without one."""

from __future__ import annotations

from reportgen.record.finding import Finding, Position
from reportgen.record.model.plan import Plan
from reportgen.record.rules import finding_of
from reportgen.record.source import Source


def misfits(plan: Plan, source: Source) -> list[Finding]:
    """Return the parts of a mash that a plan lacks, or has without anything to mash."""
    if plan.grist:
        lacking = {
            "mash": plan.mash.position is None,
            "run_off": plan.run_off.position is None,
            "liquor: mash_liquor": plan.liquor.mash_liquor is None,
        }
        where = plan.grist[0].position or plan.position
        return [
            _finding(
                where, f"a plan with a grist needs `{key}`", f"a line `{key}: ...`",
                "", source,
            )
            for key, is_lacking in lacking.items()
            if is_lacking
        ]  # fmt: skip
    stated = [
        (key, position)
        for key, position in (
            ("mash", plan.mash.position),
            ("run_off", plan.run_off.position),
            ("mash_liquor", _place(plan.liquor.mash_liquor)),
            ("sparge_liquor", _place(plan.liquor.sparge_liquor)),
            *((f"{salt.salt} to the {salt.to}", salt.position)
              for salt in plan.liquor.salts if salt.to != "kettle"),
            *((f"{acid.acid} to the {acid.to}", acid.position)
              for acid in plan.liquor.acids if acid.to != "kettle"),
        )
        if position is not None
    ]  # fmt: skip
    if stated:
        first = min(stated, key=lambda entry: (entry[1].file != source.file, entry[1].line))
        what = ", ".join(f"`{key}`" for key, _ in stated)
        return [
            _finding(
                first[1], f"no grist, and yet {what}", "a `grist: [...]`, or none of it",
                "write the grist; without one all liquor goes to the kettle as `top_up_liquor`",
                source,
            )
        ]  # fmt: skip
    if any(sugar.to == "kettle" for sugar in plan.sugars):
        return []
    return [
        _finding(
            plan.position, "nothing in this plan gives extract to the kettle",
            "a `grist: [...]`, or malt extract under `sugars` with `to: kettle`", "", source,
        )
    ]  # fmt: skip


def _place(value: object) -> Position | None:
    position = getattr(value, "position", None)
    return position if isinstance(position, Position) else None


def _finding(
    where: Position | None, message: str, expected: str, fix: str, source: Source
) -> Finding:
    position = where or Position(source.file, 1, 1, 1)
    line = source.lines[position.line - 1] if position.file == source.file else ""
    return finding_of("missing-key", position, message, expected, fix, line)
