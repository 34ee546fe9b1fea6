"""`linesim app` serves to this machine; a file that cannot be read is refused as everywhere."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from linesim.show.app import chosen
from linesim.show.commands import main

TOP = Path(__file__).parents[3]


def test_it_serves_from_any_folder_with_its_settings(tmp_path: Path) -> None:
    """From a folder without settings: it answers on this machine, and refuses a host that is not of it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "linesim", "app", str(TOP / "scenarios" / "tiny.yaml"), "--port", str(port)]
    environment = {**os.environ, "PYTHONPATH": str(TOP)}
    with subprocess.Popen(command, cwd=tmp_path, env=environment, stdout=subprocess.DEVNULL,
                          stderr=subprocess.DEVNULL) as process:
        try:
            address = f"http://127.0.0.1:{port}/_stcore/health"
            last = time.monotonic() + 90
            while not _answers(address):
                assert process.poll() is None
                assert time.monotonic() < last
                time.sleep(0.1)
            assert _status_of_a_session(port, f"127.0.0.1:{port}") == 101
            assert _status_of_a_session(port, "elsewhere.example") == 403
        finally:
            process.terminate()


def test_a_file_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    """One line, exit code 2."""
    assert main(["app", "nowhere.yaml"]) == 2
    assert "nowhere.yaml" in capsys.readouterr().err


def test_no_two_files_are_called_alike_in_the_list(tmp_path: Path) -> None:
    """The list tells its entries apart by what they are called: two copies of a file must not stand for each other."""
    known = {}
    for name in ("first", "second"):
        known[name] = tmp_path / name / "plant.yaml"
        known[name].parent.mkdir()
        known[name].write_text("name: Mine\n", encoding="utf-8")
    known["other"] = TOP / "scenarios" / "tiny.yaml"
    assert chosen.labels(known) == {"first": "Mine (first)", "second": "Mine (second)", "other": "Tiny"}


def _status_of_a_session(port: int, host: str) -> int:
    """The status with which the server answers one who wants to begin a session under this name of it."""
    asked = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    asked.request("GET", "/_stcore/stream", headers={
        "Host": host, "Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "x3JJHMbDL1EzLkh9GBhXDw=="})
    with asked.getresponse() as answer:
        status = answer.status
    asked.close()
    return status


def _answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(address, timeout=5) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False
