"""The printed lesson: sheets made from one answer, their words from the rule base, and the PDFs made of them.

`blocks` is what a sheet is made of; a module a sheet turns an answer into blocks (`brief`, `record`, `figures`, `teacher`,
`stations`, `kit`, `discussion`, `letter`); `typesetting` turns blocks into PDF. Nothing is computed here that the answer
does not hold. A new sheet: a function to blocks, an entry in `printing.MAKERS`, its words under `rules/words/`.
"""

from rungwright.sheets.lesson import Lesson, NotPrintable, Wanted
from rungwright.sheets.paper import PaperName
from rungwright.sheets.printing import SheetName, printed, sheets_of
from rungwright.sheets.typesetting import TypesettingError

__all__ = ["Lesson", "NotPrintable", "PaperName", "SheetName", "TypesettingError", "Wanted", "printed", "sheets_of"]
