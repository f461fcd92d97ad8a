"""BCF 3.0: a checked scheme in, one file of issues with viewpoints out."""

from __future__ import annotations

from massing.handover.bcf.file import Beside, bcf_bytes, write_bcf

__all__ = ["Beside", "bcf_bytes", "write_bcf"]
