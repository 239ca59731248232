"""Files of the pages, each under an address that holds its digest, so that a browser may keep it for good."""

from __future__ import annotations

import hashlib
import importlib.resources
import re
from dataclasses import dataclass
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

_HERE = Path(__file__).with_name("static")
_FONTS = ("AtkinsonHyperlegible-Regular.ttf", "AtkinsonHyperlegible-Bold.ttf")
_TYPES = {".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".ttf": "font/ttf"}
_TYPES |= {".svg": "image/svg+xml"}
FOLDER = "/static/"


@dataclass(frozen=True)
class Asset:
    address: str
    content: bytes
    media_type: str


class Assets:
    """Every file, read once. A style sheet names another file as `asset(name)`, which becomes its address."""

    def __init__(self) -> None:
        self._named: dict[str, Asset] = {}
        fonts = importlib.resources.files("fontpkg_atkinson_hyperlegible") / "files"
        for name in _FONTS:
            self._add(name, (fonts / name).read_bytes())
        for path in sorted(_HERE.iterdir(), key=lambda path: (path.suffix == ".css", path.name)):
            self._add(path.name, path.read_bytes())
        self._at = {asset.address: asset for asset in self._named.values()}

    def _add(self, name: str, content: bytes) -> None:
        suffix = Path(name).suffix
        if suffix == ".css":
            content = re.sub(rb"asset\(([^)]+)\)", lambda m: f"url({self.address(m[1].decode())})".encode(), content)
        digest = hashlib.sha256(content).hexdigest()[:12]
        self._named[name] = Asset(f"{FOLDER}{Path(name).stem}.{digest}{suffix}", content, _TYPES[suffix])

    def address(self, name: str) -> str:
        """Raises KeyError where there is no such file."""
        return self._named[name].address

    async def answer(self, request: Request) -> Response:
        asset = self._at.get(request.url.path)
        if asset is None:
            return Response("There is no such file.", 404, media_type="text/plain")
        kept = {"Cache-Control": "public, max-age=31536000, immutable"}
        return Response(asset.content, headers=kept, media_type=asset.media_type)
