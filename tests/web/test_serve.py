from __future__ import annotations

import doctest
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import httpx2
import pytest

import headwright.web.contexts
import headwright.web.links
import headwright.web.security
from headwright.errors import BookError, InputError
from headwright.web.app import serve


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    assert isinstance(port, int)
    return port


def test_the_command_serves_the_book_until_it_is_stopped(demo_book: Path) -> None:
    port = free_port()
    command = [sys.executable, "-m", "headwright", "serve"]
    options = ["--book", str(demo_book), "--port", str(port)]
    with subprocess.Popen(command + options, stderr=subprocess.PIPE, text=True) as server:
        try:
            answer = None
            deadline = time.monotonic() + 60.0
            while answer is None and server.poll() is None and time.monotonic() < deadline:
                try:
                    answer = httpx2.get(f"http://127.0.0.1:{port}/castings", timeout=5.0)
                except httpx2.TransportError:
                    time.sleep(0.1)
            assert answer is not None, "the server did not answer"
            assert answer.status_code == 200
            assert "EI-03" in answer.text
            assert "server" not in answer.headers
            long_address = "a" * 50_000
            refused = httpx2.get(f"http://127.0.0.1:{port}/castings/{long_address}", timeout=5.0)
            assert refused.status_code in {400, 404, 414, 431}
        finally:
            server.send_signal(signal.SIGINT if os.name == "posix" else signal.SIGTERM)
            _, said = server.communicate(timeout=30)
    assert "Traceback" not in said
    assert f"http://127.0.0.1:{port}/" in said
    if os.name == "posix":
        assert server.returncode == 0


def test_a_port_in_use_is_told(demo_book: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=f"port: {port} on 127.0.0.1 cannot be had"):
            serve(demo_book, "127.0.0.1", port)


def test_other_computers_are_not_let_in(demo_book: Path) -> None:
    with pytest.raises(InputError, match="would open the book to other computers"):
        serve(demo_book, "192.168.1.5", free_port())


@pytest.mark.parametrize("port", [-1, 65536])
def test_ports_out_of_range_are_refused(demo_book: Path, port: int) -> None:
    with pytest.raises(InputError, match="not between 0 and 65535"):
        serve(demo_book, "localhost", port)


def test_no_book_no_server(tmp_path: Path) -> None:
    with pytest.raises(BookError):
        serve(tmp_path / "none.db", "127.0.0.1", free_port())


@pytest.mark.parametrize(
    "module", [headwright.web.contexts, headwright.web.links, headwright.web.security]
)
def test_documented_examples(module: object) -> None:
    outcome = doctest.testmod(module)  # type: ignore[arg-type]
    assert outcome.attempted > 0
    assert outcome.failed == 0
