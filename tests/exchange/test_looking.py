"""Every kind of file that gives a plan is looked at, answered and saved in the same way."""

from __future__ import annotations

from pathlib import Path

import pytest
from sheets import NOW, add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.columns.said import Said
from store.exchange.looking.values import Asked, Looked
from store.exchange.looking.ways import WAYS, look_at

FILES = {
    "ponds": "client,pond,volume_l,phone\nBrook House,Mill pond,12000,01632 960123\n",
    "staff": "name,role,initials\nBram Oystercatch,vet,BO\n",
    "kits": "name,ammonia_form,batch\nDrops,nh3,A1\n",
    "visits": "pond,on_day,state,note\nUpper pond,3/2/2026,done,gate 4711\n",
    "events": "pond,on_day,kind,amount\nUpper pond,3/2/2026,power cut,2\n",
    "drives": "from,to,minutes,km\npractice,UPP,25,18\n",
    "deaths": "Date,Pond,Species,No. dead\n3/2/2026,Upper pond,koi,2\n",
    "lab": "Report no,Sample,Pond,Test,Result,Received,Reported\n"
    "R1,1,Upper pond,KHV,pos,3/2/2026,3/2/2026\n",
    "medicines": "Date,Product,Batch,Out,Pond\n3/2/2026,Salt,A1,2 kg,Upper pond\n",
    "fish": "Date,Pond,Fish,Examiner,Purpose,Site,Trichodina\n"
    "3/2/2026,Upper pond,1,Ada,routine,skin,++\n",
    "air": "Date,Air temp C\n3/2/2026,4.5\n",
}
OWN_WORDS = {"station": "Old mill", "place": "not known"}
SAID = {
    "ponds": ("Brook House, Home", "Mill pond, 12,000 L"),
    "staff": ("Bram Oystercatch", "vet"),
    "kits": ("Drops", "ammonia as NH3, nitrite as unknown, nitrate as unknown"),
    "visits": ("Upper pond", "done"),
    "events": ("Upper pond", "power cut, 2 h"),
    "drives": ("practice → ", "25 min, 18 km"),
    "deaths": ("Upper pond", "2 koi dead"),
    "lab": ("Upper pond", "detected"),
    "medicines": ("Upper pond", "Salt, 2 kg"),
    "fish": ("Upper pond", "trichodina ++"),
    "air": ("Old mill", "4.5 °C"),
}


def _looked(kind: str, path: Path, book: Book, asked: Asked) -> tuple[Looked, Asked]:
    """The file with everything that it asks answered by the first answer, or in words."""
    for _ in range(9):
        looked = look_at(kind, path, book, NOW, asked)
        if looked.plan is not None:
            return looked, asked
        one = looked.questions[0]
        answer = one.answers[0].value if one.answers else OWN_WORDS[one.field]
        asked = Asked(asked.said.answering(one, answer), asked.pond, asked.sheet)
    raise AssertionError(looked.questions)


@pytest.mark.parametrize("kind", WAYS)
def test_each_kind_tells_its_rows_and_saves_them_once(
    sqlite_book: Book, act: Act, tmp_path: Path, kind: str
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="Coded")
        site = writing.add("site", client_id=client, name="Home", latitude=51.0, longitude=0.1)
        writing.add("pond", site_id=site, name="Coded", code="UPP")
    path = sheet(tmp_path, FILES[kind])
    looked, asked = _looked(kind, path, sqlite_book, Asked(said=Said()))
    assert looked.plan is not None
    assert looked.plan.refused == ()
    (line,) = looked.lines
    whose, what = SAID[kind]
    assert (line.line, whose in line.whose, what in line.what) == (2, True, True), line
    day = "3 Feb 2026" if "3/2/2026" in FILES[kind] else ""
    assert line.when == day
    done = looked.save(sqlite_book, act)
    assert (done.added, done.already) == (1, 0)
    again = look_at(kind, path, sqlite_book, NOW, asked)
    assert again.plan is not None
    assert (len(again.plan.items), again.plan.already) == (0, 1)


def test_what_was_supposed_of_the_order_of_days_is_told(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, FILES["events"] + "Upper pond,13/2/2026,power cut,1\n")
    looked = look_at("events", path, sqlite_book, NOW)
    assert looked.plan is not None
    assert [one.when for one in looked.lines] == ["3 Feb 2026", "13 Feb 2026"]
    assert "“13/2/2026” shows" in looked.plan.told[0]
    said = Asked(said=Said({"order": "each"}))
    looked = look_at("events", path, sqlite_book, NOW, said)
    assert looked.plan is not None
    assert [one.line for one in looked.plan.refused] == [2, 3]


def test_a_column_is_what_a_person_says(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "Date,Pond,Kind,Gone\n2026-02-03,Upper pond,koi,2\n")
    with pytest.raises(BadInput, match="dead"):
        look_at("deaths", path, sqlite_book, NOW)
    path = sheet(tmp_path, "Date,Pond,Dead,Who knows\n2026-02-03,Upper pond,2,koi\n")
    looked = look_at("deaths", path, sqlite_book, NOW)
    (column,) = [one for one in looked.columns if one.means == "not read"]
    assert (column.about, column.title) == ("Who knows", "Who knows")
    species = next(one for one in looked.meanings if one.value == "species")
    said = Said({"column:whoknows": species.value})
    looked = look_at("deaths", path, sqlite_book, NOW, Asked(said=said))
    assert looked.lines[0].what == "2 koi dead"
