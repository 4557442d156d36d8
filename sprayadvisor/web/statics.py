"""Files that never change under their name: style, script, icons.

Each is served under a name that holds a hash of its content, from memory, so that no path is ever
looked up on disk and a phone may keep it for a year.
"""

from __future__ import annotations

import gzip
import hashlib
from dataclasses import dataclass
from importlib.resources import files

from fastapi import Request, Response
from fastapi.responses import PlainTextResponse

TYPES = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "png": "image/png",
    "webmanifest": "application/manifest+json",
}
FOR_EVER = "public, max-age=31536000, immutable"


@dataclass(frozen=True, slots=True)
class Static:
    """One file.

    Attributes:
        hashed: the name it is served under.
        content: its bytes.
        kind: its media type.
    """

    hashed: str
    content: bytes
    kind: str

    def answer(self, request: Request, cache: str) -> Response:
        """Return it, packed where the phone takes that."""
        headers = {"Cache-Control": cache, "Vary": "Accept-Encoding"}
        body = self.content
        if "gzip" in request.headers.get("accept-encoding", "") and self.kind != TYPES["png"]:
            body = gzip.compress(body, mtime=0)
            headers["Content-Encoding"] = "gzip"
        return Response(body, media_type=self.kind, headers=headers)


class Statics:
    """All files of ``web/static``, read once.

    The service worker and the manifest name other files; in them ``{{ name }}`` stands for the
    address of a file and ``{{ all }}`` for a mark that changes whenever any file does.
    """

    def __init__(self) -> None:
        folder = files("sprayadvisor.web").joinpath("static")
        raw = {
            entry.name: entry.read_bytes()
            for entry in sorted(folder.iterdir(), key=lambda entry: entry.name)
            if entry.name.rsplit(".", 1)[-1] in TYPES
        }
        mark = _hash(b"".join(raw.values()))
        self._by_name = {name: _static(name, content) for name, content in raw.items()}
        for name in ("sw.js", "manifest.webmanifest"):
            if name in raw:
                self._by_name[name] = _static(name, self._filled(raw[name], mark))
        self._by_hashed = {static.hashed: static for static in self._by_name.values()}

    def address(self, name: str) -> str:
        """Return the address of a file."""
        return f"/static/{self._by_name[name].hashed}"

    def hashed(self, request: Request, hashed: str) -> Response:
        """Return a file by the name it is served under."""
        static = self._by_hashed.get(hashed)
        if static is None:
            return PlainTextResponse("There is no such file here.", 404)
        return static.answer(request, FOR_EVER)

    def named(self, request: Request, name: str) -> Response:
        """Return a file whose address may not change: the phone asks for it anew each time."""
        return self._by_name[name].answer(request, "no-cache")

    def _filled(self, content: bytes, mark: str) -> bytes:
        text = content.decode()
        for name in self._by_name:
            text = text.replace(f"{{{{ {name} }}}}", self.address(name))
        return text.replace("{{ all }}", mark).encode()


def _static(name: str, content: bytes) -> Static:
    stem, _, ending = name.rpartition(".")
    return Static(f"{stem}.{_hash(content)}.{ending}", content, TYPES[ending])


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:12]
