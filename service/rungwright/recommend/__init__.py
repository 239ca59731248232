"""One recommendation for one section."""

from rungwright.recommend.flow import recommend
from rungwright.recommend.problem import FieldProblem, RequestProblem

__all__ = ["FieldProblem", "RequestProblem", "recommend"]
