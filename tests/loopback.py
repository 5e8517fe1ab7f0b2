"""A small web server on 127.0.0.1 that plays scripted replies and writes down who asked for what, and when."""

from __future__ import annotations

import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from time import monotonic
from types import TracebackType

LONGEST_S = 30.0
"""No handler lives longer than this, whatever its script says."""


@dataclass(frozen=True)
class Scripted:
    """One reply. `delay_s` before the first byte; `drip_s` between the pieces of an endless body."""

    body: bytes = b""
    status: int = 200
    headers: Mapping[str, str] = field(default_factory=lambda: {"Content-Type": "application/json"})
    delay_s: float = 0.0
    drip_s: float = 0.0
    pieces: Iterable[bytes] | None = None
    """A body without a length, sent piece by piece until the client leaves."""
    cut_after: int | None = None
    """Promise the whole body, send so many bytes, hang up."""


@dataclass
class Asked:
    """One request as it came in."""

    path: str
    headers: Mapping[str, str]
    began: float
    ended: float | None = None
    """Just before the last bytes went out, since the client may be gone on its way right after; None: not yet."""


class Loopback:
    """`with Loopback() as server: server.play("/v1/forecast", Scripted(b"{}"))`; the last reply repeats."""

    def __init__(self) -> None:
        self.log: list[Asked] = []
        self.stopping = threading.Event()
        self._scripts: dict[str, list[Scripted]] = {}
        self._lock = threading.Lock()
        self._server = _Server(("127.0.0.1", 0), _Handler)
        self._server.loopback = self
        self.url = f"http://127.0.0.1:{self._server.server_address[1]}"

    def __enter__(self) -> Loopback:
        threading.Thread(target=self._server.serve_forever, args=(0.01,), daemon=True).start()
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None):
        self.stop()

    def stop(self) -> None:
        """Refuse connections from now on."""
        self.stopping.set()
        self._server.shutdown()
        self._server.server_close()

    def play(self, path: str, *replies: Scripted) -> None:
        """What to answer to requests whose path begins so."""
        with self._lock:
            self._scripts[path] = list(replies)

    def asked(self, path: str = "/") -> list[Asked]:
        """The requests whose path begins so, in the order they came in."""
        with self._lock:
            return sorted((one for one in self.log if one.path.startswith(path)), key=lambda one: one.began)

    def most_at_once(self) -> int:
        """How many requests were under way together at the worst moment."""
        ended = [(one.ended, -1) for one in self.log if one.ended is not None]
        marks = sorted([(one.began, 1) for one in self.log] + ended)
        worst = now = 0
        for _, step in marks:
            now += step
            worst = max(worst, now)
        return worst

    def next_reply(self, path: str) -> Scripted:
        """Takes a scripted reply; 404 where there is no script."""
        with self._lock:
            for start, replies in self._scripts.items():
                if path.startswith(start):
                    return replies.pop(0) if len(replies) > 1 else replies[0]
        return Scripted(b"no script for this address", 404, {"Content-Type": "text/plain"})

    def enter(self, path: str, headers: Mapping[str, str]) -> Asked:
        """Write a request into the log."""
        with self._lock:
            self.log.append(Asked(path, headers, monotonic()))
            return self.log[-1]


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    loopback: Loopback

    def handle_error(self, request: object, client_address: object) -> None:
        """A client that hangs up is part of the play."""


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: _Server

    def do_GET(self) -> None:
        loopback = self.server.loopback
        asked = loopback.enter(self.path, dict(self.headers))
        reply = loopback.next_reply(self.path)
        try:
            loopback.stopping.wait(min(reply.delay_s, LONGEST_S))
            self._send(reply, asked)
        finally:
            asked.ended = asked.ended or monotonic()

    def _send(self, reply: Scripted, asked: Asked) -> None:
        self.send_response_only(reply.status)
        for name, value in reply.headers.items():
            self.send_header(name, value)
        whole = reply.pieces is None and reply.status != 304
        if whole:
            self.send_header("Content-Length", str(len(reply.body)))
        if reply.pieces is not None or reply.cut_after is not None:
            self.send_header("Connection", "close")
            self.close_connection = True
        if reply.pieces is None:
            asked.ended = monotonic()
            self.end_headers()
            self.wfile.write(reply.body[: reply.cut_after])
            return
        self.end_headers()
        for piece in reply.pieces:
            if self.server.loopback.stopping.wait(reply.drip_s) or monotonic() - asked.began > LONGEST_S:
                return
            self.wfile.write(piece)

    def log_message(self, *_: object) -> None:
        """The log is kept in Loopback."""
