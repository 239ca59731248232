"""Write each example's answer anew: python examples/refresh.py

Run it after a change of the rules or the flow, and read the difference before you commit it.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from rungwright.cli.answer import told
from rungwright.domain.ask import RecommendationRequest
from rungwright.domain.ladder import Ladder
from rungwright.domain.ladder_request import LadderDraftRequest
from rungwright.ladders.draft import draft
from rungwright.ladders.share import written
from rungwright.recommend import recommend
from rungwright.rulebase import CompiledRules
from rungwright.settings import Settings, open_rules

HERE = Path(__file__).resolve().parent


def answer_to(folder: Path, rules: CompiledRules) -> dict[str, Any]:
    request = json.loads((folder / "request.json").read_text(encoding="utf-8"))
    answer = recommend(RecommendationRequest.model_validate(request), rules)
    return json.loads(answer.model_dump_json(by_alias=True))


def same_each_time(answer: dict[str, Any]) -> dict[str, Any]:
    """The answer without what may differ between two equal ones: when it was made, and by which engine."""
    rule_base = {k: v for k, v in answer["rule_base"].items() if k != "engine"}
    return {**{k: v for k, v in answer.items() if k != "created_at"}, "rule_base": rule_base}


def folders() -> list[Path]:
    return sorted(path.parent for path in HERE.glob("*/request.json"))


def ladder_drafted(rules: CompiledRules) -> Ladder:
    request = json.loads((HERE / "ladders" / "draft.json").read_text(encoding="utf-8"))
    return draft(LadderDraftRequest.model_validate(request), rules).ladder


def school_told(rules: CompiledRules) -> str:
    """Every answer of the school's batch as a teacher reads it."""
    os.environ["COLUMNS"] = "100"
    requests = json.loads((HERE / "school" / "batch.json").read_text(encoding="utf-8"))
    told_each = []
    for request in requests:
        answer = recommend(RecommendationRequest.model_validate({**request, "include": ["timetable", "brief"]}), rules)
        told_each.append("\n".join(told(answer)) + "\n")
    return f"\n{'-' * 100}\n\n".join(told_each)


def main() -> None:
    rules = open_rules(Settings())
    (HERE / "school" / "answers.txt").write_text(school_told(rules), encoding="utf-8")
    (HERE / "ladders" / "ladder.json").write_text(written(ladder_drafted(rules)), encoding="utf-8")
    for folder in folders():
        path = folder / "answer.json"
        answer = answer_to(folder, rules)
        old = json.loads(path.read_text(encoding="utf-8")) if path.is_file() else None
        if old is not None and same_each_time(old) == same_each_time(answer):
            continue
        path.write_text(json.dumps(answer, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
        print(f"{folder.name}: {answer['summary']['headline']}")
    rules.close()


if __name__ == "__main__":
    main()
