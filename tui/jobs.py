"""The one way to do slow work: a thread that only posts messages, with progress and a way to stop.

A thread that is reading a file or a database cannot be killed; stopping means that its result is
dropped. A deed commits once, at its end, so nothing is half-stored.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from contextlib import redirect_stderr
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from textual.message import Message

from patina.errors import PatinaError

if TYPE_CHECKING:
    from textual.app import App

T = TypeVar("T")


@dataclass(eq=False)
class Ticket(Generic[T]):
    """One piece of work. words: what is being done. quiet: not shown unless it takes long."""

    words: str
    done: Callable[[T], None]
    failed: Callable[[PatinaError], None] | None
    quiet: bool = False
    key: str = ""
    stopped: bool = False
    step: str = ""
    started: float = field(default_factory=time.monotonic)

    def say(self, step: str) -> None:
        """Tell how far the work is; may be called from the thread."""
        self.step = step


class JobDone(Message):
    """The work gave a result."""

    def __init__(self, ticket: Ticket[Any], result: Any) -> None:
        super().__init__()
        self.ticket = ticket
        self.result = result


class JobFailed(Message):
    """The work met a trouble that has a name."""

    def __init__(self, ticket: Ticket[Any], trouble: PatinaError) -> None:
        super().__init__()
        self.ticket = ticket
        self.trouble = trouble


class Jobs:
    """The work that is going on."""

    def __init__(self, app: App[Any]) -> None:
        self._app = app
        self.running: list[Ticket[Any]] = []

    def start(
        self,
        words: str,
        work: Callable[[Ticket[T]], T],
        done: Callable[[T], None],
        failed: Callable[[PatinaError], None] | None = None,
        *,
        quiet: bool = False,
        key: str = "",
    ) -> Ticket[T]:
        """Do ``work`` in a thread, then call ``done`` (or ``failed``) in the screen's own thread.

        key: work of the same key that still runs is stopped, so that only the newest counts.
        Without ``failed`` a trouble goes through the app's error door.
        """
        if key:
            for older in [t for t in self.running if t.key == key]:
                self.stop(older)
        ticket: Ticket[T] = Ticket(words, done, failed, quiet, key)
        self.running.append(ticket)

        def body() -> None:
            try:
                result = work(ticket)
            except PatinaError as trouble:
                self._app.post_message(JobFailed(ticket, trouble))
            else:
                self._app.post_message(JobDone(ticket, result))

        self._app.run_worker(body, name=words, group="jobs", thread=True, exit_on_error=False)
        return ticket

    def finish(self, message: JobDone | JobFailed) -> None:
        """Hand a result on, unless its work was stopped. Raises the trouble where nobody takes it."""
        ticket = message.ticket
        if ticket in self.running:
            self.running.remove(ticket)
        if ticket.stopped:
            return
        if isinstance(message, JobDone):
            ticket.done(message.result)
        elif ticket.failed is not None:
            ticket.failed(message.trouble)
        else:
            raise message.trouble

    def stop(self, ticket: Ticket[Any]) -> None:
        """Drop a piece of work; its result is not used."""
        ticket.stopped = True
        if ticket in self.running:
            self.running.remove(ticket)

    def forget_broken(self) -> None:
        """After a fault that has no name: nothing is waited for any more."""
        for ticket in list(self.running):
            self.stop(ticket)

    @property
    def shown(self) -> Ticket[Any] | None:
        """The work to show: the oldest that is not quiet, or a quiet one that takes long."""
        now = time.monotonic()
        for ticket in self.running:
            if not ticket.quiet or now - ticket.started > 0.8:
                return ticket
        return None


def ready_for_processes() -> None:
    """Before work that starts processes of its own: their helper is started with the true error stream.

    While the screens run, sys.stderr is Textual's, which has no file behind it, and a process that is
    to inherit it cannot be started.
    """
    if sys.platform == "win32":  # there, no such helper is needed
        return
    from multiprocessing import resource_tracker

    with redirect_stderr(sys.__stderr__):
        resource_tracker.ensure_running()
