"""Ways out: a broker, a web address, mail, a program of the user's. Each tells; none can ask or switch.

Gives: Way, ways_of(), Message, message_text(), NotDelivered. A way is a name and a function that delivers one message
or raises.
Limits: what is sent is plain JSON of our own; no discovery message of any other program, nothing retained. A program is
started with its words as they stand in the bank file, never through a shell; the message comes to it on standard input.
"""

from __future__ import annotations

import json
import os
import smtplib
import subprocess
import textwrap
import urllib.error
import urllib.request
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from email.message import EmailMessage
from functools import partial

from bankwright.bank.model import Bank
from bankwright.bank.model_watch import Broker, Mail
from bankwright.bank.rules.watch import overlaps

__all__ = ["Message", "NotDelivered", "Way", "message_text", "ways_of"]

PATIENCE = 10.0  # s that a server has
SUBJECT = 200  # letters of a mail's subject at most; the whole stands in the mail


class NotDelivered(Exception):
    """A way did not take a message; the words say why."""


@dataclass(frozen=True, slots=True)
class Message:
    """What is told: of which bank, when, what."""

    bank: str
    time: str  # ISO 8601
    what: str  # "raised", "cleared", "test", "week"
    rule: str
    at: str
    words: str
    value: float | None = None
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """A way out by name."""

    name: str
    deliver: Callable[[Message], None]


def message_text(message: Message) -> str:
    """The document that is sent."""
    return json.dumps({"format": "bankwright.alarm/1", **asdict(message)}, allow_nan=False)


def ways_of(bank: Bank, reads: Sequence[str] = ()) -> tuple[Way, ...]:
    """The ways that the bank file names; `reads`: topics that its data bus reads, which no alarm is published near."""
    own = bank.watch
    found = []
    if own.broker is not None:
        found.append(Way("mqtt", partial(_publish, own.broker, (*own.broker.reads, *reads))))
    if own.post is not None:
        found.append(Way("post", partial(_post, own.post)))
    if own.mail is not None:
        found.append(Way("mail", partial(_mail, own.mail)))
    if own.command:
        found.append(Way("command", partial(_run, own.command)))
    return tuple(found)


def _password(variable: str | None) -> str | None:
    if variable is None:
        return None
    if variable not in os.environ:
        raise NotDelivered(f"the variable {variable} is not set")
    return os.environ[variable]


def _publish(broker: Broker, reads: Sequence[str], message: Message) -> None:
    """One message under ROOT/alarm/RULE, or the week under ROOT/week, delivered at least once."""
    from paho.mqtt import MQTTException
    from paho.mqtt.client import Client
    from paho.mqtt.enums import CallbackAPIVersion

    for topic in reads:
        if overlaps(broker.root, topic):
            raise NotDelivered(f'the root "{broker.root}" is not clear of "{topic}", which is read from')
    client = Client(CallbackAPIVersion.VERSION2)
    if broker.user is not None:
        client.username_pw_set(broker.user, _password(broker.password_in))
    client.connect_timeout = PATIENCE
    try:
        client.connect(broker.host, broker.port, keepalive=30)
        client.loop_start()
        sent = client.publish(f"{broker.root.strip('/')}/{_topic(message)}", message_text(message), qos=1)
        sent.wait_for_publish(PATIENCE)
        if not sent.is_published():
            raise NotDelivered(f"{broker.host} did not confirm within {PATIENCE:g} s")
    except (OSError, MQTTException, ValueError, RuntimeError) as error:
        raise NotDelivered(f"{broker.host}:{broker.port}: {error}") from error
    finally:
        client.disconnect()
        client.loop_stop()


def _topic(message: Message) -> str:
    return "week" if message.what == "week" else f"alarm/{message.rule}"


class _NoTurning(urllib.request.HTTPRedirectHandler):
    """A document goes where the file says, and nowhere else."""

    def redirect_request(self, *given: object) -> None:  # noqa: ARG002
        """Refuse."""
        return


def _post(address: str, message: Message) -> None:
    """POST the document once."""
    request = urllib.request.Request(
        address, message_text(message).encode(), {"Content-Type": "application/json"}, method="POST"
    )
    opener = urllib.request.build_opener(_NoTurning)
    try:
        with opener.open(request, timeout=PATIENCE) as answer:
            answer.read(1024)
    except (OSError, urllib.error.URLError, ValueError) as error:
        raise NotDelivered(f"{address}: {error}") from error


def _mail(mail: Mail, message: Message) -> None:
    """Send one mail; encrypted unless the file says otherwise."""
    made = EmailMessage()
    made["From"], made["To"] = mail.sender, ", ".join(mail.to)
    made["Subject"] = textwrap.shorten(f"{message.bank}: {message.words}", SUBJECT, placeholder=" ...")
    made.set_content(f"{message.words}\n\n{message.time}\n{message_text(message)}\n")
    try:
        with smtplib.SMTP(mail.server, mail.port, timeout=PATIENCE) as server:
            if mail.encrypted:
                server.starttls()
            if mail.user is not None:
                server.login(mail.user, _password(mail.password_in) or "")
            server.send_message(made)
    except (OSError, smtplib.SMTPException) as error:
        raise NotDelivered(f"{mail.server}:{mail.port}: {error}") from error


def _run(words: tuple[str, ...], message: Message) -> None:
    """Start the user's program with its own words; the document stands on its standard input."""
    try:
        done = subprocess.run(
            list(words), input=message_text(message).encode(), capture_output=True, timeout=PATIENCE, check=False
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise NotDelivered(f"{words[0]}: {error}") from error
    if done.returncode != 0:
        raise NotDelivered(f"{words[0]} ended with {done.returncode}")
