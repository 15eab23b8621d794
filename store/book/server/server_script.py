"""The SQL that makes the roles of a book at a PostgreSQL server. It is printed and never run here.

Run twice it changes nothing more; after a migration, or when people come, go or change what they
are, it is to be run again. Passwords are not in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import select

from store.book.allowed import FREE, VETS_ALONE
from store.book.book import Book
from store.book.copies.log import CHAIN, COPY
from store.book.server.server_roles import (
    GROUPS,
    META,
    NAMES,
    PREFIX,
    good_login,
    good_prefix,
    group_of,
    own_name,
    rights,
    table_names,
    watched_tables,
)
from store.book.tables import table
from store.book.trouble import NOT_YOUR_NAME


@dataclass(frozen=True, slots=True)
class Login:
    """A login at the server: whose, what the person is, and whether they are still there."""

    login: str
    name: str
    role: str
    gone: bool


def logins(book: Book) -> tuple[Login, ...]:
    """The logins that the book knows, those of people who left among them.

    Parameters
    ----------
    book
        The book.
    """
    people, signs = table("staff"), table("sign_in")
    query = (
        select(signs.c.login, people.c.name, people.c.role, people.c.struck_at)
        .join(people, people.c.id == signs.c.staff_id)
        .where(signs.c.login != "")
        .order_by(people.c.created_at, people.c.id)
    )
    with book.reading() as connection:
        return tuple(
            Login(row.login, row.name, row.role, row.struck_at is not None)
            for row in connection.execute(query)
        )


def script(people: Sequence[Login], prefix: str = PREFIX) -> str:
    """The script, for psql, to be run by the owner of the book in its database.

    Parameters
    ----------
    people
        From `logins`.
    prefix
        Of the groups; one for each book where a server has several.

    Raises
    ------
    BadInput
        A prefix or a login that is none.
    """
    good_prefix(prefix)
    for one in people:
        good_login(one.login)
    parts = [
        _HEAD.format(prefix=prefix, owner=_OWNER),
        *_groups(prefix),
        *_shut(prefix),
        *_rights(prefix),
        _function(prefix),
        *_triggers(prefix),
        *_people(prefix, people),
        "COMMIT;",
    ]
    return "\n".join(parts) + "\n" + _foot(people)


_OWNER = "(SELECT pg_get_userbyid(relowner) FROM pg_class WHERE oid = 'practice'::regclass)"
_HEAD = """\
-- Roles of a shared book of Pondround. Run it as the owner of the book, in its database:
--   pondround roles --book postgresql://… | psql -d …
-- What it says: vets prescribe, everybody records and books, nobody takes away, nobody writes in
-- another's name. The owner of the book and superusers of the server can still do everything.
-- Run it again after an update of Pondround, and when people come, go or change what they are.
\\set ON_ERROR_STOP on
\\set QUIET on
BEGIN;
SET LOCAL client_min_messages = error;
DO $$ BEGIN
  IF NOT pg_has_role(current_user, {owner}, 'MEMBER') THEN
    RAISE EXCEPTION 'run this as the owner of the book, %', {owner};
  END IF;
END $$;"""


_OWN_WORD = f"""(TG_OP = 'INSERT' OR new_row->>'key' = to_jsonb(OLD)->>'key')
      AND (new_row->>'key' LIKE 'stamp%' OR new_row->>'key' LIKE '{COPY}.%'
        OR new_row->>'key' = '{CHAIN}' AND EXISTS (
          SELECT FROM change_link l
          WHERE l.copy = (SELECT m.value::uuid FROM {META} m WHERE m.key = '{COPY}')
            AND l.nth = split_part(new_row->>'value', ' ', 1)::bigint
            AND l.hash = split_part(new_row->>'value', ' ', 2)
            AND (TG_OP = 'INSERT'
              OR l.nth >= split_part(to_jsonb(OLD)->>'value', ' ', 1)::bigint)))"""
"""What anybody may let the book say of itself: that something changed, which copy brought lines,
and where the chain ends: at a link that is there, and never before where it ended."""


def _groups(prefix: str) -> Iterable[str]:
    for group in GROUPS:
        name = f"{prefix}_{group}"
        yield (
            f"DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{name}') THEN "
            f"CREATE ROLE {name} NOLOGIN; END IF; END $$;"
        )


def _all(prefix: str) -> str:
    return ", ".join(f"{prefix}_{group}" for group in GROUPS)


def _shut(prefix: str) -> Iterable[str]:
    """Nobody may do anything, as the ground for what follows."""
    every = _all(prefix)
    tables = ", ".join(table_names())
    yield (
        "DO $$ BEGIN\n"
        "  EXECUTE format('REVOKE ALL ON DATABASE %I FROM PUBLIC', current_database());\n"
        f"  EXECUTE format('GRANT CONNECT ON DATABASE %I TO {every}', current_database());\n"
        "  EXECUTE format('REVOKE CREATE ON SCHEMA %I FROM PUBLIC', current_schema());\n"
        f"  EXECUTE format('GRANT USAGE ON SCHEMA %I TO {every}', current_schema());\n"
        "  EXECUTE format('ALTER DEFAULT PRIVILEGES IN SCHEMA %I GRANT SELECT ON TABLES TO "
        f"{every}', current_schema());\n"
        "END $$;"
    )
    yield f"REVOKE ALL ON {tables} FROM PUBLIC, {every};"


def _rights(prefix: str) -> Iterable[str]:
    for one in rights():
        columns = f" ({', '.join(_quoted(name) for name in one.columns)})" if one.columns else ""
        yield f"GRANT {one.what}{columns} ON {one.table} TO {prefix}_{one.group};"


def _function(prefix: str) -> str:
    names = ", ".join(f"'{name}'" for name in NAMES if name != "struck_by")
    alone = ", ".join(_literal(name) for name in (*VETS_ALONE, "staff", "sign_in"))
    free = "\n".join(
        f"    IF TG_TABLE_NAME = '{name}' AND TG_OP = 'INSERT' AND NOT ("
        + " OR ".join(
            f"(new_row->>'{column}') IN ({', '.join(map(_literal, words))})"
            for column, words in FREE[name]
        )
        + f") THEN\n      RAISE EXCEPTION 'permission denied for table {name}: for a vet' "
        "USING ERRCODE = '42501';\n    END IF;"
        for name in FREE
    )
    return f"""\
CREATE OR REPLACE FUNCTION {own_name(prefix)}() RETURNS trigger
LANGUAGE plpgsql SECURITY DEFINER AS $$
DECLARE
  new_row jsonb := to_jsonb(NEW);
  old_row jsonb;
  me uuid;
  known integer;
  who text;
BEGIN
  IF pg_has_role(session_user, (SELECT relowner FROM pg_class WHERE oid = TG_RELID), 'MEMBER') THEN
    RETURN NEW;
  END IF;
  SELECT count(*), min(s.id::text)::uuid INTO known, me FROM sign_in i JOIN staff s
    ON s.id = i.staff_id WHERE i.login = session_user AND s.struck_at IS NULL;
  IF known <> 1 THEN
    RAISE EXCEPTION '{NOT_YOUR_NAME}''s name: the login % belongs to nobody on the staff',
      session_user USING ERRCODE = '42501';
  END IF;
  IF TG_TABLE_NAME = '{META}' THEN
    IF NOT ({_OWN_WORD}) THEN
      RAISE EXCEPTION 'permission denied for table %: for the owner', TG_TABLE_NAME
        USING ERRCODE = '42501';
    END IF;
    RETURN NEW;
  END IF;
  IF TG_OP = 'UPDATE' THEN
    old_row := to_jsonb(OLD);
    IF new_row->'id' IS DISTINCT FROM old_row->'id'
       OR new_row->'created_by' IS DISTINCT FROM old_row->'created_by'
       OR new_row->'created_at' IS DISTINCT FROM old_row->'created_at' THEN
      RAISE EXCEPTION '{NOT_YOUR_NAME}''s name: who made a row, and when, stays'
        USING ERRCODE = '42501';
    END IF;
    IF new_row->>'struck_by' IS NOT DISTINCT FROM old_row->>'struck_by' THEN
      new_row := new_row - 'struck_by';
    END IF;
    new_row := new_row - 'created_by';
  END IF;
  FOREACH who IN ARRAY ARRAY[{names}, 'struck_by'] LOOP
    IF (new_row->>who) <> me::text THEN
      RAISE EXCEPTION '{NOT_YOUR_NAME}''s name: % of %', who, TG_TABLE_NAME
        USING ERRCODE = '42501';
    END IF;
  END LOOP;
  IF NOT pg_has_role(session_user, '{prefix}_vet', 'MEMBER') THEN
    IF TG_TABLE_NAME IN ({alone})
       OR (TG_TABLE_NAME = 'change' AND (new_row->>'table_name') IN ({alone})) THEN
      RAISE EXCEPTION 'permission denied for table %: for a vet', TG_TABLE_NAME
        USING ERRCODE = '42501';
    END IF;
{free}
  END IF;
  RETURN NEW;
END $$;
DO $$ BEGIN
  EXECUTE format('ALTER FUNCTION {own_name(prefix)}() SET search_path = %I, pg_temp',
    current_schema());
  EXECUTE format('ALTER FUNCTION {own_name(prefix)}() OWNER TO %I', {_OWNER});
END $$;
REVOKE ALL ON FUNCTION {own_name(prefix)}() FROM PUBLIC;"""


def _triggers(prefix: str) -> Iterable[str]:
    name = own_name(prefix)
    for one in watched_tables():
        yield (
            f"CREATE OR REPLACE TRIGGER {name} BEFORE INSERT OR UPDATE ON {one} "
            f"FOR EACH ROW EXECUTE FUNCTION {name}();"
        )


def _people(prefix: str, people: Sequence[Login]) -> Iterable[str]:
    here = [one for one in people if not one.gone]
    listed = ", ".join(_literal(one.login) for one in here) or "''"
    yield (
        "DO $$ DECLARE one record; BEGIN\n"
        "  FOR one IN SELECT g.rolname AS grp, m.rolname AS member FROM pg_auth_members a\n"
        "    JOIN pg_roles g ON g.oid = a.roleid JOIN pg_roles m ON m.oid = a.member\n"
        f"    WHERE g.rolname IN ('{prefix}_vet', '{prefix}_desk') AND m.rolname NOT IN "
        f"({listed})\n      AND m.rolname <> {_OWNER} LOOP\n"
        "    EXECUTE format('REVOKE %I FROM %I', one.grp, one.member);\n"
        "  END LOOP;\nEND $$;"
    )
    for one in here:
        group = group_of(one.role)
        other = "vet" if group == "desk" else "desk"
        yield f"-- {' '.join(one.name.split())}, {one.role}"
        yield (
            f"DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = "
            f"{_literal(one.login)}) THEN CREATE ROLE {_quoted(one.login)} LOGIN; END IF; END $$;"
        )
        yield f"REVOKE {prefix}_{other} FROM {_quoted(one.login)};"
        yield f"GRANT {prefix}_{group} TO {_quoted(one.login)};"


def _foot(people: Sequence[Login]) -> str:
    said = "".join(f"--   \\password {_quoted(one.login)}\n" for one in people if not one.gone)
    if not said:
        return "-- No login is known to the book yet: pondround staff login NAME LOGIN\n"
    return f"-- Then set each person's password in psql; it asks, and sends only the hash:\n{said}"


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _literal(said: str) -> str:
    return "'" + said.replace("'", "''") + "'"
