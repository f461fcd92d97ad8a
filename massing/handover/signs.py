"""Which sign stands beside a finding's number? One table, for drawings, pictures and pages."""

from __future__ import annotations

from massing.checks.finding import Verdict

__all__ = ["SIGNS"]

SIGNS = {Verdict.CONFLICT: "!", Verdict.REMEASURE: "?", Verdict.CAUTION: "~", Verdict.CLEAR: "✓"}
"""Never colour alone: a sign is read in black and white, and aloud."""
