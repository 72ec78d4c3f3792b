"""From the written Watch to the model.

Gives: watch(). Limits: what it names was looked at in bank/rules/watch.
"""

from __future__ import annotations

from bankwright.bank.model_watch import Broker, Mail, Watch
from bankwright.bank.written.watch import BrokerW, MailW, WatchW, minute_of_week

__all__ = ["watch"]


def _broker(w: BrokerW | None) -> Broker | None:
    return None if w is None else Broker(w.host, w.port, w.root, tuple(w.reads), w.user, w.password_in)


def _mail(w: MailW | None) -> Mail | None:
    return None if w is None else Mail(w.server, w.sender, tuple(w.to), w.port, w.encrypted, w.user, w.password_in)


def watch(w: WatchW | None) -> Watch:
    """What the file says of Watch; all of it open where the file says nothing."""
    if w is None:
        return Watch()
    return Watch(
        hold=w.hold,
        cell_high=w.cell_high,
        cell_low=w.cell_low,
        cell_spread=w.cell_spread,
        cell_spread_ends=w.cell_spread_ends,
        temperature_high_degc=w.temperature_high,
        temperature_low_degc=w.temperature_low,
        share_off=w.share_off,
        silence=w.silence,
        week=None if w.week is None else minute_of_week(w.week),
        messages=w.messages,
        broker=_broker(w.mqtt),
        post=w.post,
        mail=_mail(w.mail),
        command=tuple(w.command or ()),
        metrics=w.metrics,
    )
