"""Text broken by width under an indent that every line keeps."""

from __future__ import annotations

from tui.widgets.literal import one_line, wrapped


def hanging(text: str, width: int, indent: int = 2) -> str:
    """The text in lines of at most `width` cells, each of them indented.

    Parameters
    ----------
    text
        Of a person, a file or a source; put on one line and made harmless.
    width, indent
        Cells of the place, and empty cells before each line.

    Examples
    --------
    >>> print(hanging("Table 11.1 of the chapter on koi", 20))
      Table 11.1 of the
      chapter on koi
    """
    # A place that has no width yet gets the text as it is; it is laid out again with the size.
    lines = wrapped(one_line(text), width - indent) if width > 2 * indent else [one_line(text)]
    return "\n".join(" " * indent + line for line in lines)


def beside(word: str, text: str, width: int, gutter: int) -> str:
    """A word in a gutter with the text at its right; what goes on stands under the text.

    Parameters
    ----------
    word, text
        The word is no wider than its gutter.
    width, gutter
        Cells of the place, and of the gutter with what parts it from the text.

    Examples
    --------
    >>> print(beside("act", "nitrite 1.60 mg/L since 10 Nov", 20, 6))
    act   nitrite 1.60
          mg/L since 10
          Nov
    """
    return f"{word:<{gutter}}{hanging(text, width, gutter).removeprefix(' ' * gutter)}"
