"""The two themes of our own, paper by day and paper by night, and their names for levels.

Both are true colour. Without colour (`NO_COLOR`) they turn into greys that keep their contrast,
while a theme of the terminal's own sixteen colours would draw black on black: `wear` then takes
one of ours.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from textual.app import App
from textual.theme import Theme

LOOK: Final = Path(__file__).with_name("look.tcss")
"""The style sheet of what stands on the first screen; an application names it in `CSS_PATH`."""

LATER: Final = tuple(
    LOOK.parent / folder / name
    for folder, name in (
        ("screens/sheets", "dialogs.tcss"), ("widgets", "forms.tcss"), ("widgets", "chart.tcss"),
    )
)  # fmt: skip
"""The style sheets of widgets that come later; the application reads them after the first paint."""

DAY: Final = "pondround-day"
NIGHT: Final = "pondround-night"

LEVEL_COLOURS: Final = ("level-act", "level-watch", "level-unknown", "level-calm")
TEXT_COLOURS: Final = (*LEVEL_COLOURS, "quiet", "chart-first", "chart-second", "chart-limit",
                       "chart-mark", "chart-band-text", "field-error")  # fmt: skip
"""Variables that colour text on the background; each keeps a contrast of 4.5 at least."""


def _theme(
    name: str,
    *,
    dark: bool,
    paper: str,
    ink: str,
    surface: str,
    panel: str,
    primary: str,
    accent: str,
    act: str,
    watch: str,
    unknown: str,
    calm: str,
    quiet: str,
    rule: str,
    cursor: str,
    cursor_ink: str,
    field: str,
    band: str,
) -> Theme:
    return Theme(
        name=name,
        dark=dark,
        primary=primary,
        secondary=quiet,
        accent=accent,
        warning=watch,
        error=act,
        success=calm,
        foreground=ink,
        background=paper,
        surface=surface,
        panel=panel,
        variables={
            "level-act": act,
            "level-watch": watch,
            "level-unknown": unknown,
            "level-calm": calm,
            "quiet": quiet,
            "rule": rule,
            "field": field,
            "field-error": act,
            "chart-first": primary,
            "chart-second": accent,
            "chart-limit": act,
            "chart-mark": ink,
            "chart-band": band,
            "chart-band-text": quiet,
            "block-cursor-background": cursor,
            "block-cursor-foreground": cursor_ink,
            "block-cursor-text-style": "bold",
            "block-cursor-blurred-background": panel,
            "block-cursor-blurred-foreground": ink,
            "block-cursor-blurred-text-style": "none",
            "block-hover-background": panel,
            "border": primary,
            "border-blurred": rule,
            "footer-background": paper,
            "footer-foreground": ink,
            "footer-item-background": paper,
            "footer-key-foreground": primary,
            "footer-key-background": paper,
            "footer-description-foreground": quiet,
            "footer-description-background": paper,
            "input-cursor-background": ink,
            "input-cursor-foreground": paper,
            "input-selection-background": cursor,
            "input-selection-foreground": cursor_ink,
            "screen-selection-background": cursor,
            "screen-selection-foreground": cursor_ink,
            "scrollbar": rule,
            "scrollbar-hover": quiet,
            "scrollbar-active": quiet,
            "scrollbar-background": paper,
            "scrollbar-background-hover": paper,
            "scrollbar-background-active": paper,
            "scrollbar-corner-color": paper,
            "button-foreground": ink,
            "button-color-foreground": paper,
            "button-focus-text-style": "bold",
        },
    )


THEMES: Final = (
    _theme(
        DAY,
        dark=False,
        paper="#faf7f0",
        ink="#2a2926",
        surface="#f3eee3",
        panel="#e9e3d5",
        primary="#1f5a66",
        accent="#8a3d13",
        act="#a3201a",
        watch="#7d5200",
        unknown="#514d8e",
        calm="#37663a",
        quiet="#66625a",
        rule="#c8c0ae",
        cursor="#cfe0df",
        cursor_ink="#171715",
        field="#eee8da",
        band="#9db08c",
    ),
    _theme(
        NIGHT,
        dark=True,
        paper="#1b1d20",
        ink="#dcd9d1",
        surface="#24272b",
        panel="#2d3136",
        primary="#8cc3c8",
        accent="#e5a57a",
        act="#f28b7e",
        watch="#e2b660",
        unknown="#b4abe6",
        calm="#9dc49b",
        quiet="#a09c92",
        rule="#4a4e54",
        cursor="#35505a",
        cursor_ink="#f6f4ee",
        field="#2b2f34",
        band="#5b7560",
    ),
)

_ANSI: Final = {
    "level-act": "ansi_red",
    "level-watch": "ansi_yellow",
    "level-unknown": "ansi_magenta",
    "level-calm": "ansi_green",
    "quiet": "ansi_default",
    "rule": "ansi_default",
    "field": "ansi_default",
    "field-error": "ansi_red",
    "chart-first": "ansi_default",
    "chart-second": "ansi_magenta",
    "chart-limit": "ansi_red",
    "chart-mark": "ansi_default",
    "chart-band": "ansi_default",
    "chart-band-text": "ansi_default",
}


def variable_defaults(theme: Theme) -> dict[str, str]:
    """Our variables for a theme that does not know them, made of its own colours.

    An application returns this from `get_theme_variable_defaults`, so that every theme can be worn.
    """
    if theme.ansi:
        return dict(_ANSI)
    own = theme.to_color_system().generate()
    return {
        "level-act": own["text-error"],
        "level-watch": own["text-warning"],
        "level-unknown": own["text-accent"],
        "level-calm": own["text-success"],
        "quiet": own["foreground-muted"],
        "rule": own["foreground-muted"],
        "field": own["surface"],
        "field-error": own["text-error"],
        "chart-first": own["text-primary"],
        "chart-second": own["text-accent"],
        "chart-limit": own["text-error"],
        "chart-mark": own["foreground"],
        "chart-band": own["panel"],
        "chart-band-text": own["foreground-muted"],
    }


def wear(app: App[Any], name: str = NIGHT) -> str:
    """Register our themes with the application, put one on, and keep everything still.

    Parameters
    ----------
    app
        Before or while it runs.
    name
        The theme wished for.

    Returns
    -------
    str
        The theme that is worn: the one wished for; ours for the night where the name is unknown or
        where the terminal's own colours were wished for without colour.
    """
    for theme in THEMES:
        app.register_theme(theme)
    wished = app.get_theme(name)
    if wished is None or (wished.ansi and app.no_color):
        name = NIGHT
    if app.is_running:
        app.theme = name
    else:
        _wear_from_the_start(app, name)
    # Nothing slides or blinks: over a slow line every step of it would be sent.
    app.animation_level = "none"
    return name


def _wear_from_the_start(app: App[Any], name: str) -> None:
    """Put a theme on before the application runs.

    Set in the usual way it would be noticed once the screen is there, and every style sheet would
    be read a second time before the first paint.
    """
    app.set_reactive(App.theme, name)
    dark = app.current_theme.dark
    app.set_class(dark, "-dark-mode")
    app.set_class(not dark, "-light-mode")
    app.add_class(f"-theme-{name}")
    app.stylesheet.set_variables(app.get_css_variables())
