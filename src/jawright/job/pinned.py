"""Advice that keeps to what a job leaves open: what it pins is not proposed away without saying so."""

from __future__ import annotations

from jawright.job.model import Job


def other_face(job: Job) -> str:
    """What is left to try with another face up, as the end of a sentence."""
    if job.up is None:
        return "every face was tried on top"
    return "without the pin [hold] up other faces are tried on top"


def let_go(job: Job) -> str:
    """Which pins narrow how the part stands, as the start of a sentence; "" where none does."""
    pins = ["kind"] if job.hold.kind else []
    pins += ["turn"] if job.hold.turn is not None else []
    pins += ["fixed_jaw_datum"] if job.hold.fixed_jaw_datum else []
    if not pins:
        return ""
    return f"Without the pin{'s' if len(pins) > 1 else ''} [hold] {' and '.join(pins)} more ways are tried. "


def another_turn(job: Job, todo: str) -> str:
    """Advice to turn the part, with the pins it would ask to give up."""
    pins = ["turn"] if job.hold.turn is not None else []
    pins += ["fixed_jaw_datum"] if job.hold.fixed_jaw_datum else []
    if not pins:
        return todo
    return f"{todo}, for which the pin [hold] {' and '.join(pins)} would have to go"
