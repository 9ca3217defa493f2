"""A file that cannot be used: every problem of its values, with its name in front."""

from collections.abc import Sequence

from gaiter.core.errors import InputError
from gaiter.core.problems import Problem, echo, nearest, node_at, problems_of
from gaiter.core.words import Said, in_lines

__all__ = ["FileError", "Problem", "echo", "nearest", "node_at", "problems_of"]


# Nobody corrects more at once; what is wrong further down is said when these are.
_MOST_LISTED = 50


class FileError(InputError):
    """A file that cannot be used, with every problem found in it."""

    def __init__(self, name: str, problems: Sequence[Problem]) -> None:
        self.name, self.problems = name, tuple(problems)
        lines = [
            Said("{file}: {problem}", {"file": name, "problem": problem.line})
            for problem in problems[:_MOST_LISTED]
        ]
        if (more := len(problems) - _MOST_LISTED) > 0:
            lines.append(Said("{file}: and {count} more", {"file": name, "count": more}))
        super().__init__(in_lines(lines))
