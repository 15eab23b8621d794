"""Forms: keys, errors at their field, drafts."""

from __future__ import annotations

from pathlib import Path

import pytest
from paper import HARMFUL, HOSTILE, Paper
from screen_text import looks_as, screen_lines, screen_text
from textual.widgets import Select

from store.errors import BadInput
from tui.drafts import Drafts
from tui.themes import DAY
from tui.widgets.entry import TextBox
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot

pytestmark = pytest.mark.usefixtures("one_by_one")

FIELDS = (
    Field("temperature", "Temperature", "°C, or 66F"),
    Field("ph", "pH"),
    Field("tan", "Total ammonia", "mg/L as N"),
    Field("form", "Kit tells it as", choices=(("n", "N"), ("nh4", "NH4"))),
    Field("note", "Note", "what was seen", lines=3, width=30),
)


def messages(heard: list[object], kind: type) -> list[dict[str, str]]:
    return [m.values for m in {id(m): m for m in heard}.values() if isinstance(m, kind)]  # type: ignore[attr-defined]


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_it_looks_as_it_was_looked_at(size: tuple[int, int]) -> None:
    form = Form(FIELDS)
    async with Paper(form, theme=DAY).run_test(size=size) as pilot:
        await pilot.press(*"19,5", "enter", *"68")
        form.show_error(BadInput("pH 68 is no pH. 6.8?", field="ph"))
        form.remark("tan", "nothing measured")
        await pilot.pause()
        await looks_as(pilot, f"form_{size[0]}")


async def test_enter_goes_on_and_f2_saves_from_anywhere() -> None:
    form, heard = Form(FIELDS), []
    async with Paper(form).run_test(size=(80, 24), message_hook=heard.append) as pilot:
        await pilot.press(*"19,5", "enter", *"7.4", "up", "end", *"C", "down", "f2")
        await pilot.pause()
        assert messages(heard, Form.Submitted) == [
            {"temperature": "19,5C", "ph": "7.4", "tan": "", "form": "", "note": ""}
        ]
        assert messages(heard, Form.Changed)[0]["temperature"] == "1"


async def test_letters_find_a_choice_whether_the_list_is_open_or_not() -> None:
    choices = (("a", "acriflavine"), ("f", "formalin"), ("p", "permanganate [b]"))
    form = Form((Field("agent", "agent", choices=choices), Field("dose", "dose")))
    async with Paper(form).run_test(size=(80, 24)) as pilot:
        await pilot.press(*"form")
        await pilot.pause()
        await pilot.press("enter", "tab", *"20")
        assert form.values == {"agent": "f", "dose": "20"}, "from the closed field"
        await pilot.press("shift+tab", "enter")
        await pilot.pause()
        await pilot.press(*"perm", "enter")
        assert form.values["agent"] == "p", "from the open list"
        assert "permanganate [b]" in screen_text(pilot.app)
        await pilot.press("shift+tab", *"manganate [", "enter")
        assert form.values["agent"] == "p", "letters that come at once, a space among them"
        await pilot.press("shift+tab", *"zform", "enter")
        assert form.values["agent"] == "f", "a slip begins anew"


async def test_enter_in_the_last_field_saves() -> None:
    form, heard = Form(FIELDS[:2]), []
    async with Paper(form).run_test(message_hook=heard.append) as pilot:
        await pilot.press(*"9", "enter", *"7", "enter")
        await pilot.pause()
        assert messages(heard, Form.Submitted) == [{"temperature": "9", "ph": "7"}]


async def test_a_choice_and_some_lines_are_texts_too() -> None:
    form = Form(FIELDS)
    async with Paper(form).run_test(size=(80, 24)) as pilot:
        form.fill({"form": "nh4", "note": "green\nwater"})
        await pilot.pause()
        assert form.values["form"] == "nh4"
        assert form.values["note"] == "green\nwater"
        form.fill({"form": "unheard of"})
        await pilot.pause()
        assert form.values["form"] == ""
        select = form.query_one(Select)
        select.focus()
        await pilot.press("enter", "down", "enter")
        await pilot.pause()
        assert form.values["form"] == "n"


async def test_an_error_stands_at_its_field_until_it_is_changed() -> None:
    form = Form(FIELDS)
    async with Paper(form).run_test(size=(80, 24)) as pilot:
        form.show_error(BadInput("pH 68 is no pH.", field="ph"))
        await pilot.pause()
        lines = screen_lines(pilot.app)
        assert (
            "pH 68 is no pH."
            in lines[[line.split()[:1] == ["pH"] for line in lines].index(True) + 1]
        )
        assert pilot.app.focused is form._fields["ph"].entry
        await pilot.press("7")
        await pilot.pause()
        assert "no pH" not in screen_text(pilot.app)
        form.show_error(BadInput("There is no such field.", field="elsewhere"))
        await pilot.pause()
        assert "There is no such field." in screen_text(pilot.app)
        form.clear_errors()
        await pilot.pause()
        assert "There is no such field." not in screen_text(pilot.app)


async def test_an_error_below_the_fold_is_brought_into_sight() -> None:
    form = Form([Field(f"f{n}", f"Field {n}") for n in range(40)])
    async with Paper(form).run_test(size=(60, 20)) as pilot:
        form.show_error(BadInput("Not a number.", field="f39"))
        await pilot.pause()
        await pilot.pause()
        assert "Not a number." in screen_text(pilot.app)


async def test_what_was_typed_is_there_again(tmp_path: Path) -> None:
    drafts = Drafts(tmp_path / "drafts.json")
    fields = (Field("name", "Name", value="Mill Lane"), *FIELDS)
    async with Paper(Form(fields, draft=drafts.of("test", "a"))).run_test() as pilot:
        await pilot.press("tab", *"19,5")
    again = Form(fields, draft=drafts.of("test", "a"))
    async with Paper(again, Foot()).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert again.values["temperature"] == "19,5"
        assert again.values["name"] == "Mill Lane"
        assert "Taken up again" in screen_text(pilot.app)
        assert "undo draft" in screen_text(pilot.app)
        await pilot.press("f8")
        await pilot.pause()
        assert again.values["temperature"] == ""
        assert "Taken up again" not in screen_text(pilot.app)
        assert drafts.of("test", "a").values == {}
        assert not again.changed


async def test_a_saved_form_leaves_no_draft(tmp_path: Path) -> None:
    drafts = Drafts(tmp_path / "drafts.json")
    form = Form(FIELDS, draft=drafts.of("test"))
    async with Paper(form).run_test() as pilot:
        await pilot.press(*"19")
        await pilot.pause()
        assert drafts.of("test").values == {"temperature": "19"}
        assert form.changed
        form.saved()
        assert drafts.of("test").values == {}
        assert not form.changed


async def test_a_form_says_that_a_draft_cannot_be_kept(tmp_path: Path) -> None:
    (tmp_path / "state").write_text("in the way")
    form = Form(FIELDS, draft=Drafts(tmp_path / "state" / "drafts.json").of("test"))
    async with Paper(form).run_test(size=(80, 24)) as pilot:
        await pilot.press(*"19")
        await pilot.pause()
        assert "safe while this window is open" in " ".join(screen_text(pilot.app).split())
        assert form.values["temperature"] == "19"


@pytest.mark.parametrize("text", HOSTILE)
async def test_strange_text_is_shown_literally(text: str, tmp_path: Path) -> None:
    draft = Drafts(tmp_path / "drafts.json").of("test")
    draft.keep({"b": text, "c": text})
    form = Form(
        [Field("a", text, text, text), Field("b", text), Field("c", text, lines=2),
         Field("d", text, text, text, choices=((text, text), ("2", "x")))], draft=draft,
    )  # fmt: skip
    async with Paper(form).run_test(size=(80, 24), notifications=True) as pilot:
        form.show_error(BadInput(text, field="a"))
        form.remark("b", text)
        await pilot.pause()
        assert not any(HARMFUL & set(line) for line in screen_lines(pilot.app))
        assert not any(HARMFUL - {"\n"} & set(v) for n, v in form.values.items() if n != "d")
        if text == "[/nope]":
            assert screen_text(pilot.app).count(text) >= 9


async def test_harm_cannot_be_pasted_into_some_lines() -> None:
    box = TextBox("a\x1b[2J\nb")
    async with Paper(box).run_test() as pilot:
        box.insert("\x9b\u202ec\r\nd", (0, 0))
        await pilot.pause()
        assert box.text == "��c\nda�[2J\nb"


def test_two_fields_with_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match="same name"):
        Form([FIELDS[0], FIELDS[0]])
