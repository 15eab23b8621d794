"""Any sheet that people have, as grids of raw cells: what was typed, with its line.

Nothing is interpreted here. `read_file` gives every sheet of a file; `how_written` tells encoding
and separator of a text file of any length without holding it in memory.
"""

from store.exchange.sheets.encoding import Written
from store.exchange.sheets.grid import Grid, Merged, RawRow, SheetFile
from store.exchange.sheets.reading import how_written, read_file

__all__ = ["Grid", "Merged", "RawRow", "SheetFile", "Written", "how_written", "read_file"]
