"""What was given to a calculation, checked at the door; and how its figures are written."""

from __future__ import annotations

import math

from store.errors import BadInput

ZERO_CELSIUS_K = 273.15


def given(
    value: float,
    name: str,
    unit: str = "",
    *,
    low: float = -math.inf,
    high: float = math.inf,
    above: float | None = None,
) -> float:
    """The value itself, if it is a number that can exist.

    Parameters
    ----------
    value
        What was given [any unit].
    name
        The word for it in the sentence ("pH", "temperature"), also the `field` of the error.
    unit
        The unit for the sentence; empty for pH and ratios.
    low, high
        The least and the greatest value that can exist [unit of the value].
    above
        A bound that itself is refused, for a volume or a divisor [unit of the value].

    Raises
    ------
    BadInput
        The value is not a finite number, or cannot exist.
    """
    number = float(value)
    if not math.isfinite(number):
        raise BadInput(f"The {name} is not a number. Please give a number.", field=name)
    mark = f" {unit}" if unit else ""
    if above is not None and number <= above:
        raise BadInput(
            f"The {name} is {number:g}{mark}; it must be more than {above:g}{mark}.", field=name
        )
    if number < low:
        raise BadInput(
            f"The {name} is {number:g}{mark}; it cannot be less than {low:g}{mark}.", field=name
        )
    if number > high:
        raise BadInput(
            f"The {name} is {number:g}{mark}; it cannot be more than {high:g}{mark}.", field=name
        )
    return number


def given_ph(value: float) -> float:
    """A pH between 0 and 14.

    Parameters
    ----------
    value
        What was given [pH].

    Raises
    ------
    BadInput
        It is not a number between 0 and 14.
    """
    return given(value, "pH", low=0.0, high=14.0)


def given_temperature(value: float) -> float:
    """A temperature that pond water can have.

    Parameters
    ----------
    value
        What was given [°C].

    Raises
    ------
    BadInput
        It is not a number between -2 and 50 °C.
    """
    return given(value, "temperature", "°C", low=-2.0, high=50.0)


def figures(value: float, significant: int = 4) -> str:
    """A number written with so many figures, never with an exponent, for a line of arithmetic.

    Parameters
    ----------
    value
        The number [any unit].
    significant
        How many figures from the first that is not zero; whole numbers keep them all [count].

    Examples
    --------
    >>> figures(0.0172613), figures(17142.857), figures(2.0), figures(0.0)
    ('0.01726', '17143', '2', '0')
    """
    if value == 0.0 or not math.isfinite(value):
        return f"{value:.0f}"
    decimals = max(0, significant - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def said_minutes(minutes: float) -> str:
    """A time in the unit people say it in.

    Parameters
    ----------
    minutes
        The time [min].

    Examples
    --------
    >>> said_minutes(40.0), said_minutes(300.0), said_minutes(4320.0)
    ('40 min', '5 h', '3 d')
    """
    if minutes <= 120.0:
        return f"{minutes:.0f} min"
    return f"{minutes / 60.0:.3g} h" if minutes <= 2880.0 else f"{minutes / 1440.0:.3g} d"


def outside(value: float, low: float, high: float, sentence: str) -> tuple[str, ...]:
    """One remark if the value lies outside the range of validity, else none.

    Parameters
    ----------
    value
        The value [unit of the bounds].
    low, high
        The range of validity, both ends included [unit of the value].
    sentence
        The remark; it names the range.
    """
    return () if low <= value <= high else (sentence,)
