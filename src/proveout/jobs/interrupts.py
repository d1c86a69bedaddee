"""What ends the work from outside: signals and the time limit, raised only where the interpreter can bear it."""

from __future__ import annotations

import _thread
import contextlib
import signal
import sys
import threading
from collections.abc import Callable
from types import FrameType

WATCH_GRACE_S = 0.5
AGAIN_S = 0.02
# the compiler calls back into Python while it hands over machine code: an exception there ends the process
CANNOT_STOP_IN = "llvmlite"


def listen() -> None:
    """Let SIGTERM, SIGINT and Windows' SIGBREAK end the work; a SIGINT that is ignored stays so.

    Outside the main thread nothing can be set, and nothing is.
    """
    names = ["SIGTERM", "SIGBREAK"]
    with contextlib.suppress(ValueError):
        if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
            names.append("SIGINT")
        for name in names:
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), as_interrupt)
        if not isinstance(sys.unraisablehook, _AgainIfSwallowed):
            sys.unraisablehook = _AgainIfSwallowed(sys.unraisablehook)


def as_interrupt(number: int, frame: FrameType | None) -> None:
    """Raise KeyboardInterrupt, or come again a moment later where that cannot be borne."""
    while frame is not None:
        if str(frame.f_globals.get("__name__", "")).split(".", maxsplit=1)[0] == CANNOT_STOP_IN:
            _again(signal.Signals(number))
            return
        frame = frame.f_back
    raise KeyboardInterrupt


def _send(number: signal.Signals) -> None:
    """Send the main thread a signal; one that waits for something wakes, where the system can do that.

    A signal that nobody handles would end the process: it is not sent.
    """
    main_thread = threading.main_thread().ident
    if sys.platform != "win32" and main_thread is not None and callable(signal.getsignal(number)):
        signal.pthread_kill(main_thread, number)
    else:
        _thread.interrupt_main(number)


def _again(number: signal.Signals) -> None:
    timer = threading.Timer(AGAIN_S, _send, (number,))
    timer.daemon = True
    timer.start()


class _AgainIfSwallowed:
    """Hears of exceptions that nobody can catch: an interrupt lost in a finalizer comes again, without a word."""

    def __init__(self, earlier: Callable[[sys.UnraisableHookArgs], object]) -> None:
        self.earlier = earlier

    def __call__(self, told: sys.UnraisableHookArgs) -> None:
        """Send the interrupt again, or hand on what is none."""
        if issubclass(told.exc_type, KeyboardInterrupt):
            _again(_number())
        else:
            self.earlier(told)


def _number() -> signal.Signals:
    """The signal to send ourselves: SIGINT says nothing where it is ignored, as in a shell's background."""
    return signal.SIGTERM if signal.getsignal(signal.SIGTERM) is as_interrupt else signal.SIGINT


class Watch:
    """Interrupts the work when the time limit has passed and no check of its own has noticed."""

    def __init__(self) -> None:
        self.has_rung = False
        self._timer: threading.Timer | None = None

    def start(self, time_limit_s: float | None) -> None:
        """Begin to count; None counts nothing."""
        if time_limit_s is not None:
            self._timer = threading.Timer(time_limit_s + WATCH_GRACE_S, self.ring)
            self._timer.daemon = True
            self._timer.start()

    def stop(self) -> None:
        """Ring no more."""
        if self._timer is not None:
            self._timer.cancel()

    def ring(self) -> None:
        """Interrupt the main thread now."""
        self.has_rung = True
        _send(_number())
