"""The file in which coaches share a ladder: the document as JSON, see `domain.ladder`.

Reading a file that was written here and writing it again gives the same bytes.
"""

from __future__ import annotations

import json

from rungwright.domain.ladder import Ladder


def written(ladder: Ladder) -> str:
    """The file's text, fields in the order of the document, with a newline at the end."""
    return json.dumps(ladder.model_dump(mode="json"), indent=2, ensure_ascii=False) + "\n"


def read(text: str) -> Ladder:
    """Raises pydantic.ValidationError for what is no ladder, unknown fields included."""
    return Ladder.model_validate_json(text)
