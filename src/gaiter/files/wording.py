"""A file that cannot be used: every problem of its values, with its name in front."""

from collections.abc import Sequence

from gaiter.core.errors import InputError
from gaiter.core.problems import Problem, echo, nearest, node_at, problems_of

__all__ = ["FileError", "Problem", "echo", "nearest", "node_at", "problems_of"]


# Nobody corrects more at once; what is wrong further down is said when these are.
_MOST_LISTED = 50


class FileError(InputError):
    """A file that cannot be used, with every problem found in it."""

    def __init__(self, name: str, problems: Sequence[Problem]) -> None:
        self.name, self.problems = name, tuple(problems)
        lines = [f"{name}: {problem}" for problem in problems[:_MOST_LISTED]]
        if len(problems) > _MOST_LISTED:
            lines.append(f"{name}: and {len(problems) - _MOST_LISTED} more")
        super().__init__("\n".join(lines))
