"""An editor's side of a language server: files opened, what it says of them, what it offers."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from conftest import missing_tool

SERVER = os.environ.get("YAML_LANGUAGE_SERVER") or shutil.which("yaml-language-server")
"""The YAML language server most editors use (npm: yaml-language-server); ``.ci/run`` installs it."""


class Editor:
    """Speaks the Language Server Protocol 3.17 over the server's standard streams."""

    def __init__(self, process: subprocess.Popen[bytes], settings: Mapping[str, Any]) -> None:
        self._process, self._settings, self._number = process, settings, 0
        self._ask("initialize", {"processId": None, "rootUri": None, "capabilities": _CAN})
        self._send({"method": "initialized", "params": {}})

    def diagnostics(self, uri: str, text: str) -> list[dict[str, Any]]:
        """What the server marks in a file."""
        document = {"uri": uri, "languageId": "yaml", "version": 1, "text": text}
        self._send({"method": "textDocument/didOpen", "params": {"textDocument": document}})
        said = self._until(
            lambda m: (
                m.get("method") == "textDocument/publishDiagnostics" and m["params"]["uri"] == uri
            )
        )
        found: list[dict[str, Any]] = said["params"]["diagnostics"]
        return found

    def offered(self, uri: str, line: int, column: int) -> set[str]:
        """The labels offered at a place, counted from 0."""
        return {item["label"] for item in self._at("completion", uri, line, column)["items"]}

    def hover(self, uri: str, line: int, column: int) -> str:
        """The words shown over a place."""
        words: str = self._at("hover", uri, line, column)["contents"]["value"]
        return words

    def _at(self, what: str, uri: str, line: int, column: int) -> Any:
        place = {"textDocument": {"uri": uri}, "position": {"line": line, "character": column}}
        return self._ask(f"textDocument/{what}", place)

    def _ask(self, method: str, params: Mapping[str, Any]) -> Any:
        self._number += 1
        number = self._number
        self._send({"id": number, "method": method, "params": params})
        return self._until(lambda m: m.get("id") == number and "method" not in m)["result"]

    def _send(self, message: Mapping[str, Any]) -> None:
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        assert self._process.stdin is not None
        self._process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self._process.stdin.flush()

    def _until(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        while True:
            message = self._read()
            if message.get("method") == "workspace/configuration":
                asked = [item.get("section") for item in message["params"]["items"]]
                told = [self._settings if section == "yaml" else {} for section in asked]
                self._send({"id": message["id"], "result": told})
            elif "method" in message and "id" in message:
                self._send({"id": message["id"], "result": None})
            elif wanted(message):
                return message

    def _read(self) -> dict[str, Any]:
        assert self._process.stdout is not None
        size = 0
        while line := self._process.stdout.readline().strip():
            name, _, value = line.partition(b":")
            if name.lower() == b"content-length":
                size = int(value)
        assert size, "the server ended"
        message: dict[str, Any] = json.loads(self._process.stdout.read(size))
        return message


_CAN = {
    "textDocument": {"completion": {"completionItem": {"documentationFormat": ["markdown"]}}},
    "workspace": {"configuration": True},
}


@contextmanager
def editor(schemas: Mapping[str, str]) -> Iterator[Editor]:
    """An editor whose server knows which schema (by its address) is for which files."""
    if SERVER is None:
        missing_tool("yaml-language-server")
    assert SERVER is not None
    process = subprocess.Popen(
        [SERVER, "--stdio"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    settings = {"schemas": dict(schemas), "completion": True, "hover": True, "validate": True}
    try:
        yield Editor(process, {**settings, "schemaStore": {"enable": False}})
    finally:
        process.kill()
        process.communicate()
