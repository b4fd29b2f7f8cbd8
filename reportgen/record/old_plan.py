"""A plan out of an earlier text of its record: the archive as it is now does not count."""

from __future__ import annotations

from collections.abc import Callable

from reportgen.record.load import merge
from reportgen.record.source import source_from_bytes
from reportgen.record.yamlnode import mapping_below
from reportgen.record.yamltree import Mapping, Scalar, parse

MOST = 50
"""Longest chain of plans that start from one another."""


def plan_in(data: bytes, text_of: Callable[[str], bytes | None]) -> Mapping | None:
    """Return the whole plan of a record's bytes; None when it cannot be read.

    ``text_of`` gives the bytes of another batch as they were then, for a plan that starts from
    that one's.
    """
    chain: list[Mapping] = []
    for _ in range(MOST):
        plan = _own_plan(data)
        if plan is None:
            return None
        chain.append(plan)
        like = plan.get("like")
        if not isinstance(like, Scalar) or not like.text:
            whole = chain.pop()
            while chain:
                whole = merge(whole, chain.pop())
            return whole
        other = text_of(like.text)
        if other is None:
            return None
        data = other
    return None


def _own_plan(data: bytes) -> Mapping | None:
    source, _ = source_from_bytes(data, "earlier")
    return mapping_below(parse(source)[0], "plan") if source is not None else None
