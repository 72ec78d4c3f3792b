"""The door of the faces: what the faces need of the data bus: address sheet, survey, polls, listening, pretend rack.

Gives: the names in __all__, from the rooms below; keep_survey(): a survey handed on to first power-up.
"""

from __future__ import annotations

from bankwright.bank.addresses import AddressRow, address_plan, double_addresses, switch_picture, switch_words
from bankwright.bank.data_line import LinePlan, cable_order, line_plan, ohm_words
from bankwright.bus.asks import Known
from bankwright.bus.can.of_bank import can_map_of, whose_of
from bankwright.bus.map.registers import RegisterMap
from bankwright.bus.mqtt.of_bank import mqtt_map_of, texts_of, topics_read
from bankwright.bus.of_bank import (
    START,
    PollPlan,
    expected_of,
    framing_of,
    map_of,
    opened_wire,
    policy_of,
    poll_plan,
    sunspec_of,
    targets_of,
)
from bankwright.bus.poll import Cycle, Poller, columns
from bankwright.bus.pretend.broker import BrokerDoor
from bankwright.bus.pretend.can_bus import CanDoor
from bankwright.bus.pretend.can_frames import CanRack
from bankwright.bus.pretend.line import Line
from bankwright.bus.pretend.loopback import Loopback
from bankwright.bus.pretend.messages import MqttRack
from bankwright.bus.pretend.rack import Place, pretend_line
from bankwright.bus.pretend.sunspec import DEVICE, sunspec_line
from bankwright.bus.pretend.terminal import Terminal
from bankwright.bus.pretend.troubles import TROUBLES, TroubleFault, trouble
from bankwright.bus.pretend.virtual import VirtualWire
from bankwright.bus.source import Listing
from bankwright.bus.speaking import Speaking, speaking_of
from bankwright.bus.sunspec.source import SunspecSource
from bankwright.bus.survey.ask import How, survey
from bankwright.bus.survey.explain.every import explain
from bankwright.bus.survey.explain.told import Explanation
from bankwright.bus.survey.facts import Facts
from bankwright.bus.timing import Framing
from bankwright.bus.wire.wire import WireGone
from bankwright.logbook.logbook import Logbook
from bankwright.prove.sheet.survey import SURVEY
from bankwright.watch.alarms.ways import Message, NotDelivered, ways_of
from bankwright.watch.listen import Listener
from bankwright.watch.practice import practice
from bankwright.watch.service import Service

__all__ = [
    "DEVICE",
    "START",
    "TROUBLES",
    "AddressRow",
    "BrokerDoor",
    "CanDoor",
    "CanRack",
    "Cycle",
    "Explanation",
    "Facts",
    "Framing",
    "How",
    "Known",
    "Line",
    "LinePlan",
    "Listener",
    "Listing",
    "Loopback",
    "Message",
    "MqttRack",
    "NotDelivered",
    "Place",
    "PollPlan",
    "Poller",
    "RegisterMap",
    "Service",
    "Speaking",
    "SunspecSource",
    "Terminal",
    "TroubleFault",
    "VirtualWire",
    "WireGone",
    "address_plan",
    "cable_order",
    "can_map_of",
    "columns",
    "double_addresses",
    "expected_of",
    "explain",
    "framing_of",
    "keep_survey",
    "line_plan",
    "map_of",
    "mqtt_map_of",
    "ohm_words",
    "opened_wire",
    "policy_of",
    "poll_plan",
    "practice",
    "pretend_line",
    "speaking_of",
    "sunspec_line",
    "sunspec_of",
    "survey",
    "switch_picture",
    "switch_words",
    "targets_of",
    "texts_of",
    "topics_read",
    "trouble",
    "ways_of",
    "whose_of",
]


def keep_survey(book: Logbook, facts: Facts, told: tuple[Explanation, ...], who: str = "") -> int:
    """Keep what a survey found, module by module, and its explanations; the number of the entry."""
    rows = [
        {
            "code": each.code,
            "verdict": each.verdict,
            "at": list(each.at),
            "title": each.title,
            "test": each.test.text() if each.test else "",
        }
        for each in told
    ]
    serials = {
        target.name: sorted(set(facts.asked[target.unit].serials))
        for target in facts.expected.modules
        if target.unit in facts.asked
    }
    return book.hand_over(SURVEY, {"told": rows, "heard": list(facts.heard_modules), "serials": serials}, who=who).seq
