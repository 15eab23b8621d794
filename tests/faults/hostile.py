"""A thousand texts that nobody means well by, by kind, the same ones every time.

`hostile()` gives them; `harmful`, `runs_as_formula` and `reaches_out` are what a finished line, cell
or style is judged by. They are written from the standards named beside them and share nothing with
`store.text`, so that a gap there is seen here.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

SEED = 20260314
COUNT = 1000
MEGABYTE = 1_000_000


@dataclass(frozen=True, slots=True)
class Hostile:
    """A text with the kind of harm it tries."""

    kind: str
    text: str

    def __str__(self) -> str:
        return f"{self.kind}: {self.text[:60]!a}"


KINDS: Mapping[str, tuple[str, ...]] = {
    "markup": (
        "[@click=app.quit]x[/]", "[@click=app.quit()]x[/@click]", "[/nope]", "[/]", "[]", "[red]x[/red]",
        "[bold red on blue]x", "[link=https://example.org/x]x[/link]", "[b]x[/i]", "\\[b]x[/b]\\", "\\",
        "[on $error]x[/]", "[$quiet]x", "$quiet [$error]", "[@click=screen.dismiss]y[/]", "[[a]]",
        "[reverse]x[/reverse]", "[#ff0000]x[/]", "[rgb(1,2,3)]x", ":warning: :fish:", "[=3]", "[@]", "[@click]",
        "[@click=app.push_screen('x')]x[/]", "[not bold]x[/not bold]", "[dim]" * 40, "[b" * 60, "]" * 60,
        "[auto 50%]x", "[link='javascript:1']x", "[b]x[/b", "[a=1 b='2'][/]", "[@click='app.bell']z[/]", "[?]",
    ),
    "escapes": (
        "\x1b]0;owned\x07", "\x1b]2;owned\x1b\\", "\x1b]52;c;b3duZWQ=\x07", "\x1b]8;;https://example.org\x07x\x1b]8;;\x07",
        "\x1b[2J\x1b[H", "\x1b[31mred\x1b[0m", "\x1b[?1049l", "\x1b[?25l", "\x1b[6n", "\x1b[c", "\x1bc", "\x1b[20t", "\x1b[21t",
        "\x1bP$q\"p\x1b\\", "\x1b_Gf=100\x1b\\", "\x1b^x\x1b\\", "\x1b(0lqk\x1b(B", "\x1b#8", "\x1b]1337;File=:AA==\x07", "\x1b[5i",
        "\x9b2J", "\x9d0;owned\x9c", "\x90q\x9c", "\x85next", "\x8dup", "\x84", "\x00nul", "a\x00b", "\x07bell", "back\x08\x08\x08\x08",
        "\x0e shifted \x0f", "\x11\x13", "\x0cform", "\x0btab", "\x7fdel", "\x1a", "\x04", "\x18", "\x05", "a\rb", "good\rBAD", "\x1b",
        "\x1b[38;2;1;2;3m", "\x1b[>4;2m", "\x1b[?2004l\x1b[200~rm\n\x1b[201~", "\x1b]4;1;?\x07", "\x1b]104\x07", "\x1b[1000b",
    ),
    "unseen": (
        "\u202elive\u202c", "\u202dright\u202c", "\u2066x\u2069", "\u2067x\u2069", "\u2068x\u2069", "\u202ax\u202bx\u202c", "\u200ex\u200f", "\u061cx",
        "ko\u200bi", "ko\u2060i", "\ufeffkoi", "ko\u00adi", "ko\u180ei", "\u200b", "\u200b\u200b\u200b", "\u2061\u2062\u2063\u2064", "\u206a\u206b\u206c\u206d\u206e\u206f",
        "\ufff9a\ufffab\ufffb", "\U000e0001\U000e0068\U000e0069\U000e007f", "a\U000e0041\U000e0042", "\U0001d173x\U0001d17a", "\U0001bca0x\U0001bca3",
        "\u3164", "a\u115fb\u1160", "\uffa0", "a\u17b4\u17b5", "a\u034fb", "\ue000private", "\U000f0000", "\U0010ffff", "\ufffe", "\uffff", "\ufdd0",
        "\u2028line\u2029para", "\u0378unassigned", "paypal\u202egnp.exe", "\u202e" * 60, "a\u200cb", "a\u200db", "\u200d" * 40, "\u2800\u2800", "\u00a0", "\u3000", "\u2003x\u2003",
    ),
    "surrogates": ("\ud800", "\udfff", "a\udc80b", "\udcff\udcfe", "\ud83d", "\udc1f\ud83d", "x\udce9y", "\udc1b[2J"),
    "piles": (
        "e\u0301" + "\u0301" * 60, "Z" + "\u0335\u0322\u0301\u0323" * 40, "\u0301", "\u0301\u0301koi", "a" + "\u20dd" * 30, "k" + "\u0489" * 50,
        "\u0e01" + "\u0e49" * 60, "\u0915" + "\u094d\u0915" * 40, "\u1100\u1161\u11a8" * 60, "a" + "\u0344" * 40, "\ufdfa" * 40, "a\u0301\u0323" * 90,
        "\U0001f468\u200d\U0001f469\u200d\U0001f467" * 20, "\U0001f3fb\U0001f3fc", "\U0001f1ec" * 41, "\ufe0f\ufe0f\ufe0f", "1\ufe0f\u20e3", "o" + "\u0338" * 29,
    ),
    "sql": (
        "'; DROP TABLE pond; --", "' OR '1'='1", "\" OR \"\"=\"", "1; DELETE FROM client", "x' UNION SELECT 1,2,3 --", ":name", ":1", "?", "%(name)s", "$1",
        "'||(SELECT sql FROM sqlite_master)||'", "Robert'); DROP TABLE staff;--", "/* x */", "--", "\\'; x", "x%' ESCAPE '", "%", "_", "%_%", "100%", "[a-z]",
        "';ATTACH DATABASE 'x.db' AS y;--", "$$; SELECT pg_sleep(9); $$", "E'\\x00'", "NULL", "''''''", "`x`", "a\"b\"c", "* FROM pond", "pond:*", "NEAR(a b)", "a AND NOT b", "\"unclosed",
    ),
    "formulas": (
        "=1+1", "=cmd|' /C calc'!A0", "+44 1632 960001", "-2+3", "@SUM(A1:A9)", "\t=1", "\r=1", "\n=1", " =1", "\u00a0=1", "\"=1", "'=1", "''=1", "=HYPERLINK(\"https://example.org\")",
        "＝1+1", "＋1", "－1", "＠x", ";=1", "x;=1", "x\t=1", "x\n=1", "x;\"=1", "x; '=1", "%0A=1", "=", "-", "@", "+", "|=1", "=IMPORTXML(A1)", "-1", "+1", "-1e5", "--1", "=-1", "@", "x,\"=1",
        "sep=;", "\"a\",\"b\"", "a,b,c", "a;b;c", "\"", "\"\"", "\",=1,\"", "\"\r\n=1", "=DDE(\"x\")", "\\t=1", "1,2", "0x1F", "00012", "1E5", "3-4", "=@x", "\u2028=1", "\ufeff=1", "\x00=1", "\x0b=1", "\x85=1",
    ),
    "paths": (
        "../../etc/passwd", "..\\..\\x", "/etc/shadow", "C:\\x", "C:x", "\\\\host\\share", "//host/share", "file:///etc/passwd", "~/x", "~root", "$HOME/x", "%USERPROFILE%", "a/b", "a\\b", ".", "..", "...", "CON", "NUL", "con.txt", "COM1",
        "LPT9.csv", "a\x00.pdf", "x" * 300, "../" * 80, "a:b", "a*b?", "<x>|y", " x ", "x.", "-rf", "--book", "|ls", "`id`", "$(id)", "; rm -rf x", "&& x", "x\n../y", ".hidden", "x/", "./.", "x" * 255 + ".csv", "鯉" * 100,
        "aux", "clock$", "x::$DATA", "/dev/null", "/proc/self/mem", "-", "--", "nul.", "..%2f..%2f", "..\u2215x", "‥/x", "a\u2044b",
    ),
    "calendar": (
        "x\nEND:VEVENT\nBEGIN:VEVENT\nSUMMARY:mine", "x\r\nBEGIN:VEVENT\r\nUID:1\r\nEND:VEVENT", "BEGIN:VCALENDAR", "END:VCALENDAR\nBEGIN:VCALENDAR", "x\n ATTACH:file:///etc/passwd", "x\r\n\tfolded", "x\\nBEGIN:VALARM", "a;b,c\\d",
        "a\\\\;b", "DTSTART:20260101T000000Z", "RRULE:FREQ=SECONDLY", "x\nRRULE:FREQ=YEARLY;COUNT=9", "ATTENDEE;CN=\"x\":mailto:x@example.org", "x\nBEGIN:VALARM\nACTION:DISPLAY\nEND:VALARM", "\"quoted\": ;=", "^n^'", "é" * 80, "x" * 74 + "é", "鯉" * 60,
        "X-WR-CALNAME:y", "x\u2028END:VEVENT", "x\x0bEND:VEVENT", "x\x85END:VEVENT", "TZID=Europe/London:1", "\\N", "\\", "a\\", ":", ";", ",", "x\rEND:VEVENT\rBEGIN:VEVENT", "METHOD:CANCEL", "x\n\nSUMMARY:", " x\n y", "STATUS:CANCELLED",
    ),
    "brackets": (
        "<script>alert(1)</script>", "</name><name>x", "]]>", "<![CDATA[x]]>", "<!--", "--><x/>", "&amp;", "&lt;b&gt;", "&x;", "&#0;", "&#x1b;", "<!DOCTYPE x [<!ENTITY y SYSTEM \"file:///etc/passwd\">]>&y;", "\"><img src=x onerror=1>", "'/><x>", "<?xml version=\"1.0\"?>",
        "{\"a\":1}", "\"}]", "\\u0000", "\\", "\\\"", "null", "NaN", "true", "[1,2", "{", "}", "],", "__proto__", "# head", "**bold**", "![x](https://example.org/x.png)", "[x](javascript:1)", "| a | b |", "```", "~~x~~", "1. x", "- [ ] x", "> x", "---", "===",
        "<https://example.org>", "&nbsp;", "<br>", "a\\|b", "`x`", "<a href=x>", "$x^2$", "<x:y xmlns:x='z'/>", "%PDF-1.4", "\\x1b",
    ),
    "formats": (
        "%s", "%s %(a)s {0}", "%n%n%n", "{}", "{0}", "{0.__class__}", "{name!r:>99999999}", "{{", "}}", "{", "}", "%", "%%", "%d", "%99999999d", "$v", "${v}", "$$", "{now:%Y}", "%(message)s", "{a[b]}", "\\1", "\\g<0>", "\\g<x>", "(?P<x>", "(", "[", "*", "+?", "a{99999}", "(a+)+$", "^",
        "f'{1}'", "\\N{DIGIT ONE}", "\\x", "\\u12", "\\777", "!r", ":>10", "{:c}", "{.a}", "$quiet", "$ink-muted 50%",
    ),
    "paper": (
        "(x) Tj ET", "endstream endobj", ") Tj (", "\\(x\\)", "\\)", "(((((", ")))))", "<< /JS (x) >>", "/OpenAction", "/Launch", "%%EOF", "xref", "trailer", "1 0 obj", "<FEFF0041>", "BT /F1 12 Tf", "{nb}", "{nb} of {nb}", "**x**", "__x__", "--x--", "[x](https://example.org)", "\x0c\x0c", "||", "\\040",
        "W" * 400, "i" * 400, "鯉" * 200, "☠", "\U0001f41f" * 40, "مرحبا", "שלום", "ไม่มี", "हिन्दी", "ﷺ", "\u2063", "x\u00a0" * 60, "word " * 90, "-" * 200, "." * 300, "_" * 200,
    ),
    "numbers": (
        "1e308", "1e309", "-1e309", "1e-400", "nan", "inf", "-inf", "Infinity", "0x1p9999", "9" * 400, "-" + "9" * 400, "1" * 5000, "0." + "0" * 400 + "1", "1_000", "1,5", "1.5.5", "½", "٣", "１２", "①", "1e5", "+5", "--5", "5-", "1/0", "0/0", "9999999999999999999999", "2**63", "18446744073709551616", "9007199254740993", "-0", "1e", "e5", ".", "0b1", "1 000", "1’000",
        "<0.05", ">9999999", "< >", "~", "±", "7.4.4", "pH 99999", "1e999 mg/L", "9" * 30 + " mg/L", "8" + "." * 40, "²", "1²", "๔", "五", "1\u00a0000", "6e23 koi", "0,0,0",
    ),
    "days": (
        "9999-12-31", "10000-01-01", "0000-00-00", "0001-01-01", "-1-01-01", "2026-02-30", "2026-13-01", "31/31/2026", "29 Feb 2026", "2026-02-29", "1/1/1", "99/99/9999", "9999-12-31T23:59:59.999999999Z", "2026-01-01T25:61", "24:00", "25:99", "-1:00", "in 99999999 days", "+9999999999d", "every 99999999999 days", "every 0 days", "every -1 days", "1970-01-01",
        "2038-01-19", "1899-12-31", "2200-01-01", "2201-01-01", "99999", "0", "yesterday tomorrow", "Mon-Fri 25:00-99:00", "Mon-Mon 00:00-00:00", "Fri-Mon 08:00-07:00", "00:00-24:00", "every February 30", "٢٠٢٦-٠١-٠١", "2026-W53", "2026-366", "20260101", "01.01.0000", "Sat " * 50, "2026−01−01", "noon", "2026-03-29 01:30", "12 h 99 min", "1e9 d",
    ),
    "scripts": (
        "بركة الحديقة", "בריכת נוי", "鯉の池", "錦鯉" * 30, "연못", "пруд", "λίμνη", "🐟🐠 koi 鯉 👩‍🔬 pond", "👨‍👩‍👧‍👦", "🏳️‍🌈", "🇬🇧🇩🇪", "ｆｕｌｌｗｉｄｔｈ", "ﬁsh", "İstanbul", "ẞß", "ǅ", "𝔎𝔬𝔦", "𝟙𝟚", "Ⅷ", "㎎/ℓ", "Å", "Å", "ＡＢ", "ñ", "n\u0303", "ก็", "कोइ", "ကျော်", "ཨོཾ", "ᠮᠣᠩᠭᠣᠯ", "ߒߞߏ", "koi\u0000鯉", "ﷺ" * 20,
        "مرحبا 123 (abc)", "(שלום) 4 mg/L", "鯉、池", "🐟" * 120, "ŉ", "ΰ", "ﬀ", "̈", "ı", "K", "µg/L μg/L", "℃", "‰", "−5", "a‐b‑c", "“quoted” ‘x’", "«x»", "…", "№ 5", "¿x?", "½ kg", "10⁻³",
    ),
    "lines": (
        "one\ntwo", "one\r\ntwo", "one\rtwo", "\n", "\n\n\n", "\r\n" * 40, "\t", "a\tb", "  ", "", "\n" * 300, "x\n" * 200, "\n=1\n-2", "a\x1eb\x1dc", "a\u2028b", "a\u2029b", "a\x0bb\x0cc", "a\x85b", "x" * 500, "x" * 501, "x y " * 300, "x" * 2_001, "x" * 20_001, " lead", "trail ", "\u00a0nbsp\u00a0", "a  b", "'", "''", "\"", "’",
    ),
    "huge": (
        "x" * MEGABYTE, "鯉" * MEGABYTE, "e\u0301" * (MEGABYTE // 2), "a" + "\u0301\u0323" * (MEGABYTE // 2), "[b]" * (MEGABYTE // 3), "\x1b[2J" * (MEGABYTE // 4), "=1;" * (MEGABYTE // 3), "\n" * MEGABYTE, " " * MEGABYTE, "(" * MEGABYTE, "1" * MEGABYTE,
        "\u202e" * MEGABYTE, "koi " * (MEGABYTE // 4), "1 " * (MEGABYTE // 2), "'" * MEGABYTE, ", " * (MEGABYTE // 2), "\U0001f41f" * MEGABYTE, "a\u0323\u0301" * (MEGABYTE // 3), "-" * MEGABYTE, "1.5 mg/L, " * (MEGABYTE // 10),
    ),
}  # fmt: skip
"""Texts seen in the wild and texts made up, by what they try."""

_HARMLESS = ("koi pond", "Mill Lane", "Ada", "lower", "gate code 4711", "鯉", "3 mg/L", "pH 7.4")


def hostile(count: int = COUNT, *, huge: bool = True, seed: int = SEED) -> tuple[Hostile, ...]:
    """So many texts, the same for the same arguments: first all listed, then mixtures of them.

    Parameters
    ----------
    count
        How many, all of them different.
    huge
        Whether those of a megabyte are among them.
    seed
        Of the mixtures.
    """
    listed = [
        Hostile(kind, text)
        for kind, texts in KINDS.items() if huge or kind != "huge"
        for text in dict.fromkeys(texts)
    ]  # fmt: skip
    seen: set[str] = set()
    found = []
    for one in _in_turn(listed) if count < len(listed) else listed:
        if one.text not in seen and len(found) < count:
            seen.add(one.text)
            found.append(one)
    for one in _mixed([one for one in listed if one.kind != "huge"], random.Random(seed)):
        if len(found) >= count:
            break
        if one.text not in seen:
            seen.add(one.text)
            found.append(one)
    return tuple(found)


def _in_turn(listed: list[Hostile]) -> list[Hostile]:
    """One of each kind after the other, so that few are still of all kinds."""
    nth: Counter[str] = Counter()
    places = {}
    for one in listed:
        nth[one.kind] += 1
        places[one] = nth[one.kind]
    return sorted(listed, key=lambda one: places[one])


def _mixed(listed: list[Hostile], dice: random.Random) -> Iterator[Hostile]:
    while True:
        one, other = dice.choice(listed), dice.choice(listed)
        word = dice.choice(_HARMLESS)
        shape = dice.choice(
            ("{a} {w}", "{w} {a}", "{w}{a}{w}", "{a}{b}", "{b} {w} {a}", "{a}\n{b}")
        )
        text = shape.replace("{w}", word).replace("{a}", one.text).replace("{b}", other.text)
        yield Hostile(one.kind, text[:700])


# --- what may not come out --------------------------------------------------------------------------

_SPANS = (
    (0x00, 0x1F), (0x7F, 0x9F),  # C0, DEL, C1: ISO/IEC 6429
    (0x2028, 0x2029),  # line and paragraph separator
    (0xD800, 0xDFFF),  # surrogates
    (0x061C, 0x061C), (0x200E, 0x200F), (0x202A, 0x202E), (0x2066, 0x2069),  # UAX #9, table 4
    # Of Default_Ignorable_Code_Point (DerivedCoreProperties of Unicode 15), all but the joiners
    # U+200C and U+200D and the variation selectors, which Persian, Mongolian and emoji need.
    (0x00AD, 0x00AD), (0x034F, 0x034F), (0x115F, 0x1160), (0x17B4, 0x17B5), (0x180E, 0x180E),
    (0x200B, 0x200B), (0x2060, 0x206F), (0x3164, 0x3164), (0xFEFF, 0xFEFF), (0xFFA0, 0xFFA0),
    (0xFFF0, 0xFFFB), (0x1BCA0, 0x1BCA3), (0x1D173, 0x1D17A), (0xE0000, 0xE00FF),
    (0xE01F0, 0xE0FFF),
)  # fmt: skip
HARMFUL = frozenset(chr(code) for first, last in _SPANS for code in range(first, last + 1))
"""What drives a terminal, turns the order of letters, or is there without being seen."""
_SIGNS = frozenset("=+-@＝＋－＠")
_TABS = frozenset("\t\r\n")
_BLANKS = ' \u00a0\u3000"'
MOST_MARKS = 30
"""Combining marks in a row: what UAX #15 (stream-safe text) calls beyond any real text."""


def harmful(text: str, *, lines: bool = True) -> set[str]:
    """The characters of a text that must not reach a terminal or a file.

    Parameters
    ----------
    text
        As it came out.
    lines
        Whether line feeds end its lines; without, none may stand in it.
    """
    found = set(text) & HARMFUL
    return found - {"\n"} if lines else found


def one_sentence(message: str) -> None:
    """A refusal is short, ends as a sentence does and drives nothing.

    Raises
    ------
    AssertionError
        Where it is none of these.
    """
    assert message.rstrip().endswith((".", "?", ")")), message
    assert len(message) < 1200, message
    assert not set(message) & {"\x1b", "\x9b", "\x07"}, ascii(message)


def longest_pile(text: str) -> int:
    """The most combining marks that stand in a row."""
    import unicodedata

    longest = run = 0
    for character in text:
        run = run + 1 if unicodedata.category(character) in ("Mn", "Me") else 0
        longest = max(longest, run)
    return longest


def runs_as_formula(cell: str) -> bool:
    """Whether a spreadsheet would run a cell: its first sign, blanks and quotes taken away.

    A number is none, though it begins with a minus.
    """
    if cell[:1] in _TABS and cell.strip():
        return True
    if cell.lstrip(_BLANKS)[:1] not in _SIGNS or not cell.strip():
        return False
    try:
        float(cell)
    except ValueError:
        return True
    return False


def reaches_out(style: object) -> str:
    """What a rendered style would do when it is clicked, or the empty text."""
    meta = getattr(style, "meta", None) or {}
    # What is grabbed with the mouse are the bars by which a page is moved.
    if any(str(name).startswith("@") and not str(name).startswith("@mouse.") for name in meta):
        return f"does {meta}"
    return f"leads to {style.link}" if getattr(style, "link", None) else ""


# --- the count of the long run ----------------------------------------------------------------------


class Tally:
    """How many inputs were tried, and what became of them, by where they went in."""

    def __init__(self) -> None:
        self.kept: Counter[str] = Counter()
        self.refused: Counter[str] = Counter()
        self.shown: Counter[str] = Counter()

    def line(self) -> str:
        """One sentence a place, and the sum."""
        places = sorted({*self.kept, *self.refused})
        said = [
            f"  {place}: {self.kept[place] + self.refused[place]:,} tried, "
            f"{self.kept[place]:,} kept, {self.refused[place]:,} refused"
            for place in places
        ]
        said += [f"  {place}: {count:,} looked at" for place, count in sorted(self.shown.items())]
        kept, refused = self.kept.total(), self.refused.total()
        head = f"hostile texts: {kept + refused:,} inputs tried, {kept:,} kept, {refused:,} refused"
        return "\n".join([head, *said])


TALLY = Tally()
