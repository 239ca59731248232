"""The same request against the same rule base has the same id."""

from __future__ import annotations

import hashlib
import json

from rungwright.domain.strict import Setting
from rungwright.recommend.resolve import Case


def weights_digest(case: Case) -> str:
    """Digest of every number the model uses: the levers' weights, the challenge, and what was learnt."""
    key = (
        case.base.digest,
        case.challenge.id if case.challenge is case.base.challenges.get(case.challenge.id) else None,
        case.learnt and case.learnt.digest,
    )
    if key[1] is None:
        return _weights(case)
    if key not in _KNOWN:
        _KNOWN[key] = _weights(case)
    return _KNOWN[key]


_KNOWN: dict[tuple[str, str | None, str | None], str] = {}
"""Digests of the catalogue's own challenges: there are few, and each takes a millisecond."""


def _weights(case: Case) -> str:
    levers = {name: lever.model_dump(mode="json") for name, lever in sorted(case.levers.items())}
    return _digest(
        {
            "levers": levers,
            "challenge": case.challenge.model_dump(mode="json"),
            **({"learnt": case.learnt.digest} if case.learnt else {}),
        }
    )


def recommendation_id(case: Case) -> str:
    """Hash of the canonical request, the rule base and the weights; the order of unordered lists does not matter."""
    request = case.request.model_dump(mode="json")
    # The weights' digest holds the challenge, so that one given whole and the same one by its id are alike.
    request["challenge"] = case.challenge.id
    section = request["section"]
    for name, key in (("stations", "test"), ("materials", "material")):
        if section[name] is not None:
            section[name] = sorted(
                section[name], key=lambda item, key=key: (item[key], json.dumps(item, sort_keys=True))
            )
    for name in ("tools", "exclusions", "kept_levers"):
        if section[name] is not None:
            section[name] = sorted(set(section[name]))
    for name in ("measured", "kept_levers"):
        # An answer from before a section could tell of this keeps its id.
        if section[name] is None:
            del section[name]
    for run in request["runs"]:
        run["flags"] = sorted(set(run["flags"]))
        if run["results"] is not None:
            run["results"] = sorted(run["results"], key=lambda r: r["criterion"])
    request["runs"] = sorted(request["runs"], key=lambda run: json.dumps(run, sort_keys=True))
    request["include"] = sorted(set(request["include"]))
    for name in ("pinned", "declined"):
        request["ask"][name] = sorted(set(request["ask"][name]))
    return _digest({"request": request, "rule_base": case.base.digest, "weights": weights_digest(case)})


def proposal_id(recommendation: str, lever: str, to: Setting) -> str:
    return _digest([recommendation, lever, to])[:16]


def _digest(value: object) -> str:
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:32]
