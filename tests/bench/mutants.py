"""One-place changes of a source text that are plausible slips: a module in, mistakes out."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["Mistake", "mistakes", "planted"]

COMPARED = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In,
}  # fmt: skip
TURNED = {ast.Lt: ast.Gt, ast.LtE: ast.GtE, ast.Gt: ast.Lt, ast.GtE: ast.LtE}
SUMS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}
SWAPPED = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "floor": "ceil",
    "ceil": "floor",
    "argmin": "argmax",
    "argmax": "argmin",
    "sin": "cos",
    "cos": "sin",
    "any": "all",
    "all": "any",
}


@dataclass(frozen=True, slots=True)
class Mistake:
    """One change of one expression: what stands there, and what is put in its place."""

    module: str
    line: int
    start: int
    stop: int
    was: str
    now: str


def _others(node: ast.AST) -> Iterator[ast.expr]:  # noqa: C901 - a table, one row a kind
    """Every expression that is a plausible slip for ``node``."""
    match node:
        case ast.Compare(left, [op], right):
            for table in (COMPARED, TURNED):
                if type(op) in table:
                    yield ast.Compare(left, [table[type(op)]()], right)
        case ast.BinOp(left, op, right) if type(op) in SUMS:
            yield ast.BinOp(left, SUMS[type(op)](), right)
        case ast.BoolOp(op, values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
        case ast.UnaryOp(ast.Not() | ast.USub() | ast.Invert(), operand):
            yield operand
        case ast.Constant(bool(value)):
            yield ast.Constant(not value)
        case ast.Constant(int(value) | float(value)):
            yield ast.Constant(value + 1)
            if value:
                yield ast.UnaryOp(ast.USub(), node)
        case ast.Attribute(of, str(name), context) if name in SWAPPED:
            yield ast.Attribute(of, SWAPPED[name], context)
        case ast.Name(str(name), context) if name in SWAPPED:
            yield ast.Name(SWAPPED[name], context)
        case ast.IfExp(test, body, orelse):
            yield ast.IfExp(test, orelse, body)


def _places(tree: ast.Module) -> set[int]:
    """Numbers that choose a place or an axis: of two, minus the one is often the same again."""
    chosen: list[ast.AST] = []
    for node in ast.walk(tree):
        match node:
            case ast.Subscript(_, index):
                chosen += index.elts if isinstance(index, ast.Tuple) else [index]
            case ast.keyword("axis", value):
                chosen.append(value)
    return {id(node) for node in chosen if isinstance(node, ast.Constant)}


def _left_alone(tree: ast.Module) -> set[int]:
    """Nodes that are not behaviour: notes of types, words of errors, decorators, ``__all__``."""
    skipped: list[ast.AST] = []
    for node in ast.walk(tree):
        match node:
            case ast.FunctionDef():
                arguments = (*node.args.args, *node.args.kwonlyargs)
                skipped += [
                    *node.decorator_list,
                    *(a.annotation for a in arguments if a.annotation),
                ]
                skipped += [node.returns] if node.returns else []
            case ast.AnnAssign():
                skipped.append(node.annotation)
            case ast.ClassDef():
                skipped += node.decorator_list
            case ast.JoinedStr() | ast.Raise() | ast.Assign([ast.Name("__all__")]):
                skipped.append(node)
    return {id(inner) for node in skipped for inner in ast.walk(node)}


def mistakes(module: str, text: str) -> list[Mistake]:
    """Every mistake that can be planted in a module, in file order."""
    tree = ast.parse(text)
    starts = [0]
    for line in text.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    skipped, places, found = _left_alone(tree), _places(tree), []
    for node in ast.walk(tree):
        if id(node) in skipped or not hasattr(node, "lineno"):
            continue
        start = starts[node.lineno - 1] + node.col_offset
        stop = starts[node.end_lineno - 1] + node.end_col_offset
        was = text.encode()[start:stop].decode()
        others = list(_others(node))
        if id(node) in places and type(node.value) is int and node.value == 1:  # type: ignore[attr-defined]
            others[-1] = ast.Constant(0)
        for other in others:
            now = f"({ast.unparse(ast.fix_missing_locations(other))})"
            if isinstance(other, ast.Name | ast.Attribute):
                now = now[1:-1]
            found.append(Mistake(module, node.lineno, start, stop, was, now))
        if isinstance(node, ast.Return) and node.value is not None:
            empty = "return None"
            if was.replace(" ", "") != "returnNone":
                found.append(Mistake(module, node.lineno, start, stop, was, empty))
    return sorted(found, key=lambda m: (m.start, m.stop, m.now))


def planted(text: str, mistake: Mistake) -> str:
    """The module's text with the mistake in it, on as many lines as before."""
    raw = text.encode()
    gone = raw[mistake.start : mistake.stop].count(b"\n")
    # Lines below keep their numbers; inside the brackets a line may end anywhere.
    now = mistake.now.encode()
    now = now[:-1] + b"\n" * gone + b")" if now.endswith(b")") and now[:1] == b"(" else now
    return (raw[: mistake.start] + now + raw[mistake.stop :]).decode()
