"""A small planning tool that asks the service: one section, then a whole school in one call.

Start the service with `rungwright serve`, then: python examples/planning_client.py [ADDRESS]
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx

HERE = Path(__file__).resolve().parent
ADDRESS = "http://127.0.0.1:8000"


def one_section(client: httpx.Client, request: dict[str, Any]) -> dict[str, Any]:
    """The recommendation for one section. Raises ValueError with each wrong field where the request is not valid."""
    response = client.post("/v1/recommendations", json=request)
    if response.status_code == 422:
        raise ValueError(told(response.json()))
    response.raise_for_status()
    return response.json()


def whole_school(client: httpx.Client, requests: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """A line for each section, in order, each as soon as the service has it."""
    body = "".join(json.dumps(request) + "\n" for request in requests)
    headers = {"content-type": "application/x-ndjson"}
    with client.stream("POST", "/v1/recommendations/batch", content=body, headers=headers) as response:
        response.raise_for_status()
        for line in response.iter_lines():
            yield json.loads(line)


def told(problem: dict[str, Any]) -> str:
    return "; ".join(f"{e['pointer']}: {e['detail']}" for e in problem["errors"]) or problem["detail"]


def plan(client: httpx.Client) -> Iterator[str]:
    """What the tool shows."""
    sections = json.loads((HERE / "school" / "batch.json").read_text(encoding="utf-8"))
    answer = one_section(client, sections[3])
    yield f"{answer['section']['label']}: {answer['summary']['headline']}"
    for proposal in answer["proposals"]:
        yield f"  {proposal['label']}: {proposal['from_text']} -> {proposal['to_text']}"
        yield f"    {proposal['reason']['text']}"

    # One section has a typing mistake: its line says so, the others are answered all the same.
    wrong = json.loads(json.dumps(sections[0]))
    wrong["section"]["studnets"] = wrong["section"].pop("students")
    for line in whole_school(client, [*sections, wrong]):
        if "problem" in line:
            yield f"{line['index'] + 1}. not answered: {told(line['problem'])}"
        else:
            answer = line["recommendation"]
            yield f"{line['index'] + 1}. {answer['section']['label']}: {answer['summary']['headline']}"


def main() -> None:
    with httpx.Client(base_url=sys.argv[1] if len(sys.argv) > 1 else ADDRESS, timeout=60) as client:
        for line in plan(client):
            print(line)


if __name__ == "__main__":
    main()
