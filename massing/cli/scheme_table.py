"""Every scheme of a project side by side: answers in, a table or plain data out."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from typing import Any

from massing.checks.finding import Verdict
from massing.checks.run import Answer
from massing.cli.text import WIDTH, wrapped
from massing.handover.answer import answer_dict

__all__ = ["table_json", "table_text"]

_COLUMNS = (
    ("conflicts", "conflicts"),
    ("remeasure", "re-measure"),
    ("cautions", "cautions"),
    ("standing_m2", "standing m2"),
    ("store_l", "store L"),
)
_NAME = WIDTH - sum(len(head) + 2 for _, head in _COLUMNS)


def table_dict(answers: Sequence[Answer]) -> dict[str, Any]:
    """One row a scheme, in file order, as plain data."""
    return {
        "massing": 1,
        "project": answers[0].project.name,
        "schemes": [_row(answer) for answer in answers],
    }


def table_json(answers: Sequence[Answer]) -> str:
    """The same as JSON text."""
    return json.dumps(table_dict(answers), indent=2, ensure_ascii=False)


def table_text(answers: Sequence[Answer]) -> str:
    """One line a scheme; a long name runs on below its own line."""
    table = table_dict(answers)
    names = [str(row["scheme"]) for row in table["schemes"]]
    wide = min(max(len("scheme"), *map(len, names)), _NAME)
    heads = "".join(f"  {head}" for _, head in _COLUMNS)
    lines = [*wrapped(table["project"], "", ""), "", f"{'scheme':<{wide}}{heads}"]
    for row in table["schemes"]:
        first, *rest = textwrap.wrap(row["scheme"], wide, break_on_hyphens=False)
        cells = "".join(f"  {_cell(row[key]):>{len(head)}}" for key, head in _COLUMNS)
        lines += [f"{first:<{wide}}{cells}", *rest]
    return "\n".join(lines)


def _row(answer: Answer) -> dict[str, Any]:
    kinds = [finding.verdict for finding in answer.findings]
    room = answer_dict(answer)["room"]
    return {
        "scheme": answer.layout.name,
        "conflicts": kinds.count(Verdict.CONFLICT),
        "remeasure": kinds.count(Verdict.REMEASURE),
        "cautions": kinds.count(Verdict.CAUTION),
        "standing_m2": room["standing_m2"],
        "obstructed_m2": room["obstructed_m2"],
        "store_l": room["store_l"],
    }


def _cell(value: float) -> str:
    if isinstance(value, int):
        return str(value)
    return f"{value:.2f}" if value < 100 else f"{value:.0f}"
