"""A CSV file, read line by line; what is wrong is told with the file, the line and the mend."""

import csv
import io
from collections.abc import Iterator
from pathlib import Path

from coilwright.errors import FileProblem, Problem

CsvLines = Iterator[tuple[int, list[str]]]


def read_csv_text(file: Path) -> str:
    """The file's text: UTF-8, with or without the mark that some editors put in front.

    Raises
    ------
    FileProblem
        It cannot be read, or is not UTF-8.
    """
    try:
        return file.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise csv_problem(file, "file", "not UTF-8 text", "save it as UTF-8") from error
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        raise csv_problem(file, "file", found, "give a CSV file that can be read") from error


def csv_lines(file: Path, text: str) -> CsvLines:
    """Cells of each line with the number of the line on which it begins.

    Raises
    ------
    FileProblem
        A line is no CSV.
    """
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            mend = 'put cells that hold a comma or a line break in "..."'
            raise csv_problem(file, f"line {begins}", f"no CSV ({error})", mend) from error
        yield begins, cells
        begins = reader.line_num + 1


def csv_head(file: Path, lines: CsvLines) -> list[str]:
    """The names of the columns, which the first line holds.

    Raises
    ------
    FileProblem
        The columns are not parted by commas.
    """
    _, cells = next(lines, (1, []))
    head = [cell.strip() for cell in cells]
    if len(head) == 1 and (";" in head[0] or "\t" in head[0]):
        raise csv_problem(
            file, "line 1", "no commas between the columns", "save it with commas between columns"
        )
    return head


def filled_cells(file: Path, number: int, head: list[str], cells: list[str]) -> dict[str, str]:
    """The cells of line ``number`` that are not empty, by column.

    Raises
    ------
    FileProblem
        Not one cell a column.
    """
    if len(cells) != len(head):
        raise csv_problem(
            file,
            f"line {number}",
            f"{len(cells)} cells under {len(head)} columns",
            'give one cell a column, in "..." where it holds a comma',
        )
    stripped = zip(head, map(str.strip, cells), strict=True)
    return {name: cell for name, cell in stripped if cell}


def csv_problem(file: Path, field: str, found: str, mend: str) -> FileProblem:
    """What is wrong at one place of a CSV file."""
    return FileProblem(file, Problem(field=field, found=found, mend=mend))
