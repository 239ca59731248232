"""Requests from files: JSON or YAML, checked as strictly as over HTTP, wrong fields told with their pointers."""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rungwright.api.fields import validate
from rungwright.api.reading import NotJson, read_json
from rungwright.cli.terminal import BadInput

if TYPE_CHECKING:
    from rungwright.domain.ask import RecommendationRequest
    from rungwright.recommend.problem import FieldProblem

LIMIT = 8 * 1024 * 1024


def read_bytes(file: str) -> bytes:
    """A file, or standard input for `-`. Raises BadInput."""
    try:
        if file == "-":
            raw = sys.stdin.buffer.read(LIMIT + 1)
        else:
            with Path(file).open("rb") as stream:
                raw = stream.read(LIMIT + 1)
    except OSError as error:
        raise BadInput(f"{file}: cannot be read: {error.strerror or error}") from None
    if len(raw) > LIMIT:
        raise BadInput(f"{name_of(file)}: is larger than {LIMIT // 1024**2} MiB")
    return raw


def name_of(file: str) -> str:
    return "standard input" if file == "-" else file


def read_data(file: str) -> Any:
    """The data of one request. Files that end in .json are JSON; others may be either. Raises BadInput."""
    raw = read_bytes(file)
    try:
        if file.endswith(".json") or raw.lstrip()[:1] in (b"{", b"["):
            return read_json(raw)
        return _yaml(raw)
    except NotJson as error:
        raise BadInput(f"{name_of(file)}: {error}") from None


def request_from(data: Any, where: str) -> RecommendationRequest:
    """Raises BadInput with a line for each field that is wrong."""
    from rungwright.domain.ask import RecommendationRequest

    request = validate(RecommendationRequest, data)
    if isinstance(request, list):
        raise BadInput(*problem_lines(where, request))
    return request


def problem_lines(where: str, problems: Iterable[FieldProblem]) -> list[str]:
    return [f"{where}: {p.pointer}: {p.detail}" if p.pointer else f"{where}: {p.detail}" for p in problems]


def _yaml(raw: bytes) -> Any:
    """YAML read as its 1.2 core words: `no` and days stay texts, only true and false are yes-or-no."""
    import yaml

    class Loader(yaml.SafeLoader):
        yaml_implicit_resolvers: dict = {}

        def construct_mapping(self, node: Any, deep: bool = False) -> dict:
            keys = [self.construct_object(key, deep=True) for key, _ in node.value]
            for key in keys:
                if not isinstance(key, str):
                    raise NotJson(f"the key {key!r} at line {node.start_mark.line + 1} is not a text")
                if keys.count(key) > 1:
                    raise NotJson(f"the key {key[:60]!r} stands twice in one object")
            return super().construct_mapping(node, deep)

        def compose_node(self, parent: Any, index: Any) -> Any:
            # An alias inside an alias can make a small file huge.
            if self.check_event(yaml.events.AliasEvent):
                raise NotJson(f"aliases (*) are not read, line {self.peek_event().start_mark.line + 1}")
            return super().compose_node(parent, index)

    for tag, pattern, first in (
        ("tag:yaml.org,2002:bool", r"true|false", "tf"),
        ("tag:yaml.org,2002:null", r"~|null|", ["~", "n", ""]),
        ("tag:yaml.org,2002:int", r"-?(0|[1-9][0-9]{0,17})", "-0123456789"),
        ("tag:yaml.org,2002:float", r"-?(0|[1-9][0-9]*)\.[0-9]+", "-0123456789"),
    ):
        Loader.add_implicit_resolver(tag, re.compile(f"(?:{pattern})$"), list(first))
    try:
        data = yaml.load(raw.decode("utf-8-sig"), Loader)
    except UnicodeDecodeError:
        raise NotJson("the text is not UTF-8") from None
    except yaml.YAMLError as error:
        raise NotJson(" ".join(str(error).split())) from None
    except RecursionError:
        raise NotJson("it is nested too deep") from None
    if data is None:
        raise NotJson("it is empty")
    if _has_odd_number(data):
        raise NotJson("a number is not finite")
    return data


def _has_odd_number(data: Any) -> bool:
    if isinstance(data, dict):
        return any(map(_has_odd_number, data.values()))
    if isinstance(data, list):
        return any(map(_has_odd_number, data))
    return isinstance(data, float) and not math.isfinite(data)
