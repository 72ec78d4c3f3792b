"""The door of the faces: what the faces need of Build: sheet with its state, labels, papers, joints.

Gives: the names in __all__, from the rooms below; nothing is computed here.
"""

from __future__ import annotations

from bankwright.build.apart.sheet import apart_sheet
from bankwright.build.emergency import Emergency, emergency
from bankwright.build.frame_voltage import frame_words
from bankwright.build.joints.check import bank_joint_checks, joint_findings
from bankwright.build.joints.torque import torque_answers
from bankwright.build.labels import Label, labels
from bankwright.build.occasions import occasions
from bankwright.build.pages import LIFT_HEAD, build_page, finding_words, lift_rows, no_lifts, sheet_page, wanted_words
from bankwright.build.progress import (
    StepState,
    before_match,
    hand_over,
    may_join,
    next_step,
    not_earthed,
    progress,
    strange_steps,
    tick_every,
    tick_step,
)
from bankwright.build.sheet import sheet_findings
from bankwright.build.upkeep import JOINT_RULE, upkeep

__all__ = [
    "JOINT_RULE",
    "LIFT_HEAD",
    "Emergency",
    "Label",
    "StepState",
    "apart_sheet",
    "bank_joint_checks",
    "before_match",
    "build_page",
    "emergency",
    "finding_words",
    "frame_words",
    "hand_over",
    "joint_findings",
    "labels",
    "lift_rows",
    "may_join",
    "next_step",
    "no_lifts",
    "not_earthed",
    "occasions",
    "progress",
    "sheet_findings",
    "sheet_page",
    "strange_steps",
    "tick_every",
    "tick_step",
    "torque_answers",
    "upkeep",
    "wanted_words",
]
