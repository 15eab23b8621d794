"""What a number rests on, in words."""

from __future__ import annotations


def said_backing(source: str, standing: str) -> str:
    """The source with its standing before it, because what is cut on a narrow line is the end.

    Parameters
    ----------
    source
        The publication as one line; empty where there is none.
    standing
        `published`, `common practice` or `from memory`.

    Examples
    --------
    >>> said_backing("Emerson et al. 1975", "published")
    'Published: Emerson et al. 1975'
    >>> said_backing("common practice, without a published source", "common practice")
    'common practice, without a published source'
    """
    if standing in source:
        return source
    return f"{standing.capitalize()}: {source}" if source else standing.capitalize()
