"""Proposals as lines of the project file: schemes in, text that says no more than them out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from massing.arrange.answers import Proposal
from massing.project.edit import insert_entry, yaml_text
from massing.project.project import Project
from massing.project.read import parse_project

__all__ = ["scheme_lines", "with_proposals"]


def scheme_lines(proposal: Proposal) -> list[str]:
    """The scheme as it would stand at the left margin."""
    polished = proposal.polished
    lines = [f"{yaml_text(proposal.name)}:", f"  from: {yaml_text(polished.base)}"]
    lines.append(f"  says: {yaml_text(_sentence(proposal.why))}")
    for word, value in polished.extra.items():
        lines.append(f"  {word}: {_flow(value)}")
    if polished.moves:
        lines.append("  move:")
        for name, words in polished.moves:
            lines.append(f"    {yaml_text(name)}: {_flow(words)}")
    return lines


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:] + "."


def _flow(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{yaml_text(str(k))}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_flow(v) for v in value) + "]"
    return yaml_text(value) if isinstance(value, str) else f"{value:g}"


def with_proposals(project: Project, proposals: Iterable[Proposal]) -> str:
    """The project's text with the schemes added and nothing else disturbed, read again and sound.

    Raises MassingError where the file's form does not take them (schemes in brackets).
    """
    text = project.text
    for proposal in proposals:
        text = insert_entry(text, ("schemes",), scheme_lines(proposal))
    parse_project(text, project.path)
    return text
