"""An import as its page shows it: columns with examples, problems by row and column, what it is."""

from collections.abc import Sequence
from dataclasses import dataclass

from cars.exchange.queries.import_letters import column_name
from cars.exchange.queries.import_places import LEFT_OUT, Place
from cars.exchange.queries.import_progress import progress_of
from cars.exchange.queries.import_rows import ImportRead, Problem, places_of, read_import
from cars.models import Import
from clubsetup.access.models import User

LONGEST_EXAMPLE = 40


@dataclass(frozen=True, slots=True)
class ColumnShown:
    """A column of the file, what stands in its first rows, and what it is for."""

    letter: str
    title: str
    examples: Sequence[str]
    chosen: str


@dataclass(frozen=True, slots=True)
class ProblemShown:
    """Where, and what."""

    row: int
    column: str
    message: str


@dataclass(frozen=True, slots=True)
class DraftShown:
    """All that is told of a draft before it is confirmed."""

    columns: Sequence[ColumnShown]
    places: Sequence[Place]
    problems: Sequence[ProblemShown]
    comes_to: str
    notes: Sequence[str]


def show_draft(row: Import, by: User) -> DraftShown:
    """What a draft would come to, or what is wrong with it."""
    read = read_import(row, by)
    notes = list(row.notes)
    if read.without_time:
        count = f"{read.without_time} runs say" if read.without_time > 1 else "One run says"
        notes.append(f"{count} no time: they are put from noon on, a minute apart, in their order.")
    problems = [problem_shown(read, each) for each in read.problems]
    return DraftShown(
        [_column(read, column) for column in range(len(read.columns))],
        list(places_of(row).values()),
        problems,
        _comes_to(row, read),
        notes,
    )


def problem_shown(read: ImportRead, problem: Problem) -> ProblemShown:
    """A problem with its column as the spreadsheet calls it, and its header."""
    column = problem.column
    name = column_name(column) if column >= 0 else ""
    title = read.header[column][:LONGEST_EXAMPLE] if 0 <= column < len(read.header) else ""
    return ProblemShown(problem.row, f"{name} {title}".strip(), problem.message)


def _column(read: ImportRead, column: int) -> ColumnShown:
    texts = [cells[column] for _, cells in read.examples if column < len(cells)]
    title = read.header[column] if column < len(read.header) else ""
    chosen = read.columns[column] or LEFT_OUT
    examples = [text[:LONGEST_EXAMPLE] for text in texts if text]
    return ColumnShown(column_name(column), title[:LONGEST_EXAMPLE], examples, chosen)


def _comes_to(row: Import, read: ImportRead) -> str:
    count = len(read.made)
    if row.kind != Import.Kind.RUNS:
        return _counted(count, "sheet")
    laps = sum(len(each.laps) for each in read.made)
    return f"{_counted(count, 'run')} with {_counted(laps, 'lap')}"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


@dataclass(frozen=True, slots=True)
class ProgressShown:
    """How far it is."""

    says: str
    value: int
    of: int


def show_progress(row: Import) -> ProgressShown:
    """Rows made, of how many."""
    done, of = progress_of(row.pk)
    if row.state == Import.State.WAITING or not of:
        return ProgressShown("Waiting to be brought in", 0, row.rows)
    return ProgressShown(f"{done} of {of} brought in", done, of)


def came_to(row: Import) -> str:
    """What a finished import came to."""
    if row.kind == Import.Kind.ARCHIVE:
        return _counted(row.made, "row")
    return _counted(row.made, "run" if row.kind == Import.Kind.RUNS else "sheet")
