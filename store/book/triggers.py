"""Triggers that keep the tables which are only added to from being rewritten."""

from __future__ import annotations

ONLY_ADDED_TO = (
    "change", "reading", "rule_change", "caution_answer", "course_turn", "change_link",
)  # fmt: skip

REFUSAL = "is only added to"
"""Part of the message by which a refusal of these triggers is known, on both databases."""


def statements(dialect: str, tables: tuple[str, ...] = ONLY_ADDED_TO) -> list[str]:
    """The SQL that makes the triggers.

    On SQLite, `INSERT OR REPLACE` deletes without firing them unless `recursive_triggers` is on;
    opening a book turns it on.

    Parameters
    ----------
    dialect
        `sqlite` or `postgresql`.
    tables
        The tables to keep.

    Returns
    -------
    list of str
        One statement each.
    """
    if dialect == "sqlite":
        return [
            f"CREATE TRIGGER tr_{table}_no_{event.lower()} BEFORE {event} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} {REFUSAL}'); END"
            for table in tables
            for event in ("UPDATE", "DELETE")
        ]
    function = (
        "CREATE FUNCTION refuse_rewriting() RETURNS trigger LANGUAGE plpgsql AS $$ "
        f"BEGIN RAISE EXCEPTION '% {REFUSAL}', TG_TABLE_NAME; END $$"
    )
    return [
        function,
        *(
            f"CREATE TRIGGER tr_{table}_no_{event.lower()} BEFORE {event} ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_rewriting()"
            for table in tables
            for event in ("UPDATE", "DELETE", "TRUNCATE")
        ),
    ]
