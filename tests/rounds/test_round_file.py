"""The rounds of a day as files: shapes, names, what is said of them, what never stands there."""

from __future__ import annotations

import json
import time as clock
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, timedelta
from typing import Any

import pytest
from ical.calendar_stream import IcsCalendarStream

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.rounds.day.sheet import DaySheet
from store.rounds.kept.sheets.round_file import ENDINGS, RoundFile, round_file
from store.rounds.papers.geojson import STRAIGHT, cut, geojson_bytes
from store.rounds.papers.gpx import gpx_bytes
from store.rounds.papers.round_calendar import round_calendar
from store.rounds.solving.problem import SUSPECT
from store.text import plain
from tests.book.entries import NOW
from tests.rounds.day_plans import ADA, BRAM, nine_stops, two_drivers
from tests.rounds.hand_sheets import sheet_of
from tests.rounds.sheet_book import HOSTILE, TODAY, day_of, place, purpose, shared, stop_at, treat

GPX = "{http://www.topografix.com/GPX/1/1}"


def file(book: Book, plan: Any, shape: Any, staff: Any = ADA, **more: Any) -> RoundFile:
    return round_file(book, plan, staff, shape, NOW, **more)


def features(data: bytes, kind: str) -> list[dict[str, Any]]:
    return [
        one for one in json.loads(data)["features"] if one["geometry"]["type"] == kind
    ]  # fmt: skip


def routes(data: bytes) -> list[ET.Element]:
    return ET.fromstring(data).findall(f"{GPX}rte")


def entries(data: bytes) -> list[Any]:
    return IcsCalendarStream.calendar_from_ics(data.decode()).events


@pytest.fixture(scope="module")
def sheet() -> DaySheet:
    return sheet_of(nine_stops())


# --- out of the book ------------------------------------------------------------------------------


@pytest.mark.parametrize(("shape", "begins"), [
    ("text", b"The day on the road"), ("markdown", b"# The day on the road"), ("pdf", b"%PDF-"),
    ("geojson", b"{"), ("gpx", b"<?xml"), ("calendar", b"BEGIN:VCALENDAR"),
])  # fmt: skip
def test_every_shape_out_of_the_book(book: Book, act: Act, shape: Any, begins: bytes) -> None:
    where = place(book, act, volume_l=9000.0)
    treat(book, act, where.ponds[0], TODAY - timedelta(days=7), TODAY)
    made = file(book, day_of(stop_at(where, 1, purpose(where.ponds[0]))), shape)
    assert made.data.startswith(begins)
    assert made.name == f"round-2026-03-14-ada-vet.{ENDINGS[shape]}"
    assert made.said.startswith("1 stop.")
    assert made == file(book, day_of(stop_at(where, 1, purpose(where.ponds[0]))), shape)


def test_the_kit_list_stands_behind_the_stops(sqlite_book: Book, act: Act) -> None:
    where = place(sqlite_book, act, volume_l=9000.0)
    treat(sqlite_book, act, where.ponds[0], TODAY - timedelta(days=7), TODAY)
    told = file(sqlite_book, day_of(stop_at(where)), "text").data.decode()
    head, kit, _ = told.partition("What goes into the van")
    assert kit
    assert "1.  " in head


def test_letter_and_a4(sqlite_book: Book, act: Act) -> None:
    plan = day_of(stop_at(place(sqlite_book, act)))
    a4, letter = (file(sqlite_book, plan, "pdf", page=page) for page in ("A4", "Letter"))
    assert a4.data != letter.data
    assert "A4." in a4.said
    assert "Letter." in letter.said


def test_all_rounds_in_one_file(sqlite_book: Book, act: Act) -> None:
    one, other = place(sqlite_book, act), place(sqlite_book, act, "Mill House")
    plan = shared(
        (ADA, "Ada Vet", [stop_at(one, 1), stop_at(one, 2)]),
        (BRAM, "Bram", [stop_at(other, 3), stop_at(other, 4)]),
    )
    made = file(sqlite_book, plan, "geojson", None)
    assert made.name == "round-2026-03-14.geojson"
    assert made.said.startswith("4 stops in 2 rounds.")
    assert [one["properties"]["round"] for one in features(made.data, "LineString")] == [
        "Ada Vet", "Bram",
    ]  # fmt: skip
    assert len(routes(file(sqlite_book, plan, "gpx", None).data)) == 2
    assert len(entries(file(sqlite_book, plan, "calendar", None).data)) == 4
    told = file(sqlite_book, plan, "text", None).data.decode()
    assert "Mill House" in told
    assert "Brook House" in told


def test_places_that_are_not_known_are_counted(sqlite_book: Book, act: Act) -> None:
    where = place(sqlite_book, act)
    plan = day_of(stop_at(where, 1), stop_at(where, 2, at=None))
    said = "1 stop. 1 stop has no coordinates and is not on the map: Brook House, Garden."
    for shape in ("geojson", "gpx"):
        assert file(sqlite_book, plan, shape).said.startswith(said)
    assert file(sqlite_book, plan, "calendar").said.startswith("2 stops.")
    assert said[8:] in file(sqlite_book, plan, "text").data.decode().replace("\n  ", " ")


@pytest.mark.parametrize("shape", ["geojson", "gpx"])
def test_a_map_of_nothing_is_refused(sqlite_book: Book, act: Act, shape: Any) -> None:
    plan = day_of(stop_at(place(sqlite_book, act), at=None))
    with pytest.raises(BadInput, match="no coordinates"):
        file(sqlite_book, plan, shape)


def test_a_round_of_nothing_is_refused(sqlite_book: Book) -> None:
    with pytest.raises(BadInput, match="Nobody has a stop"):
        file(sqlite_book, day_of(), "text", None)
    with pytest.raises(BadInput, match="Nobody has a stop"):
        file(sqlite_book, day_of(), "pdf")
    with pytest.raises(BadInput, match="text, markdown, pdf"):
        file(sqlite_book, day_of(), "docx")


@pytest.mark.parametrize("shape", ["geojson", "gpx", "calendar"])
def test_what_others_may_see_holds_no_code_and_no_standing(
    sqlite_book: Book, act: Act, shape: Any
) -> None:
    where = place(sqlite_book, act)
    asked = purpose(where.ponds[0], "concern", says="STOP: koi herpesvirus disease?")
    plan = day_of(stop_at(where, 1, asked, level=SUSPECT))
    made = file(sqlite_book, plan, shape)
    assert "What opens gates is left out." in made.said
    assert b"4711" not in made.data
    for word in (b"suspect", b"STOP", b"herpes", b"notifiable"):
        assert word not in made.data
    assert b"4711" in file(sqlite_book, plan, "text").data
    if shape != "calendar":
        assert b"01632" not in made.data


@pytest.mark.parametrize("shape", list(ENDINGS))
def test_hostile_names_come_out_literally(sqlite_book: Book, act: Act, shape: Any) -> None:
    where = place(sqlite_book, act, "Brook House", HOSTILE,
                  site={"name": HOSTILE, "access_notes": HOSTILE, "address": HOSTILE})  # fmt: skip
    plan = day_of(stop_at(replace(where, name=f"Brook House, {HOSTILE}")))
    made = file(sqlite_book, plan, shape)
    assert b"\x1b" not in made.data or shape == "pdf"
    said = plain(HOSTILE)  # as the book keeps it
    if shape == "geojson":
        assert said in features(made.data, "Point")[0]["properties"]["name"]
    elif shape == "gpx":
        (name,) = ET.fromstring(made.data).iter(f"{GPX}rtept")
        assert said in str(name.findtext(f"{GPX}name"))
    elif shape == "calendar":
        assert said[:40] in entries(made.data)[0].summary
    elif shape == "text":
        assert '=HYPERLINK("z")' in made.data.decode()


def test_whoever_drives_may_be_called_anything(sheet: DaySheet) -> None:
    from store.rounds.kept.sheets.round_file import file_name

    assert file_name("../../etc/passwd\n", TODAY, "gpx") == "round-2026-03-14-etc-passwd.gpx"
    assert file_name("Ж☠", TODAY, "text") == "round-2026-03-14.txt"
    assert len(file_name("x" * 500, TODAY, "pdf")) < 70
    assert sheet.stops


# --- the shapes themselves ------------------------------------------------------------------------


def test_stops_are_points_with_number_name_and_hours(sheet: DaySheet) -> None:
    points = features(geojson_bytes([sheet]), "Point")
    assert [one["properties"]["number"] for one in points] == [1, 2, 3, 4, 6, 7, 8, 9]
    first = points[0]
    assert first["geometry"]["coordinates"] == [-1.66, 53.05]
    assert first["properties"] == {
        "number": 1, "name": "Alder Row, lower pond", "address": "1 Weir Lane, AB1 2CD Ashbourne",
        "who": "Ada Vet", "begins": "2026-03-16T08:14+00:00", "ends": "2026-03-16T08:44+00:00",
        "leaves": "2026-03-16T08:44+00:00", "agreed": True,
    }  # fmt: skip
    ids = [one["id"] for one in json.loads(geojson_bytes([sheet]))["features"]]
    assert len(set(ids)) == len(ids)


def test_the_line_says_that_it_is_straight(sheet: DaySheet) -> None:
    (line,) = features(geojson_bytes([sheet]), "LineString")
    points = features(geojson_bytes([sheet]), "Point")
    assert line["geometry"]["coordinates"] == [one["geometry"]["coordinates"] for one in points]
    assert line["properties"]["drawn"] == STRAIGHT
    assert line["properties"]["stops_without_coordinates"] == 1


def test_one_stop_makes_no_line(sheet: DaySheet) -> None:
    data = geojson_bytes([replace(sheet, stops=sheet.stops[:1])])
    assert [one["geometry"]["type"] for one in json.loads(data)["features"]] == ["Point"]


@pytest.mark.parametrize(
    ("line", "pieces"),
    [
        ([[-179.0, 10.0], [179.0, 20.0]],
         [[[-179.0, 10.0], [-180.0, 15.0]], [[180.0, 15.0], [179.0, 20.0]]]),
        ([[179.0, 0.0], [180.0, 0.0], [-179.0, 0.0]],
         [[[179.0, 0.0], [180.0, 0.0]], [[-180.0, 0.0], [-179.0, 0.0]]]),
        ([[178.0, 0.0], [-180.0, 4.0], [-178.0, 0.0]],
         [[[178.0, 0.0], [180.0, 4.0]], [[-180.0, 4.0], [-178.0, 0.0]]]),
        ([[180.0, 0.0], [-180.0, 4.0]], [[[180.0, 0.0], [180.0, 4.0]]]),
        ([[10.0, 0.0], [10.0, 0.0]], [[[10.0, 0.0], [10.0, 0.0]]]),
    ],
)  # fmt: skip
def test_a_line_over_the_antimeridian_is_cut(line: Any, pieces: Any) -> None:
    assert cut(line) == pieces


def test_a_round_over_the_antimeridian_is_a_line_of_several(sheet: DaySheet) -> None:
    def at(lon: float, nth: int) -> Any:
        one = sheet.stops[nth]
        errand = replace(one.stop.errand, longitude=lon, latitude=-17.0)
        return replace(one, stop=replace(one.stop, errand=errand))

    data = geojson_bytes([replace(sheet, stops=(at(179.9, 0), at(-179.9, 1), at(-179.8, 2)))])
    (line,) = features(data, "MultiLineString")
    assert [len(piece) for piece in line["geometry"]["coordinates"]] == [2, 3]


def test_a_route_has_the_stops_in_their_order_at_utc(sheet: DaySheet) -> None:
    summer = replace(sheet, day=date(2026, 6, 15))
    (route,) = routes(gpx_bytes([summer], NOW))
    points = route.findall(f"{GPX}rtept")
    assert [one.findtext(f"{GPX}name", "").split()[0] for one in points] == list("12346789")
    assert points[0].findtext(f"{GPX}time") == "2026-06-15T07:14:00Z"  # 08:14 in summer
    assert points[0].findtext(f"{GPX}desc") == "08:14 to 08:44"
    assert (points[0].get("lat"), points[0].get("lon")) == ("53.050000", "-1.660000")


def test_180_degrees_east_is_west(sheet: DaySheet) -> None:
    one = sheet.stops[0]
    errand = replace(one.stop.errand, longitude=180.0)
    moved = replace(sheet, stops=(replace(one, stop=replace(one.stop, errand=errand)),))
    assert b'lon="-180.000000"' in gpx_bytes([moved], NOW)


def test_a_round_without_a_place_has_no_route(sheet: DaySheet) -> None:
    lost = replace(sheet, stops=sheet.stops[4:5])
    assert len(routes(gpx_bytes([lost, sheet], NOW))) == 1


def test_the_calendar_holds_the_planned_hours(sheet: DaySheet) -> None:
    found = entries(round_calendar([sheet], NOW))
    assert len(found) == 9
    seventh = found[6]
    at = sheet.stops[6].stop
    assert seventh.summary == "7. examination: Marl Pit Nursery, tank 3"
    assert seventh.dtstart == sheet.at(at.arrives)
    assert seventh.dtend == sheet.at(at.leaves)
    assert "Visit " in seventh.description
    assert "dose 2 of 3: due 16 Mar 2026" in seventh.description
    assert "Dog is loose." in seventh.description


def test_an_entry_keeps_its_name_when_the_plan_is_made_anew(sheet: DaySheet) -> None:
    turned = replace(sheet, stops=tuple(
        replace(one, number=n) for n, one in enumerate(reversed(sheet.stops), start=1)
    ))  # fmt: skip
    before = entries(round_calendar([sheet], NOW))
    after = entries(round_calendar([turned], NOW + timedelta(minutes=3)))
    assert {one.uid for one in before} == {one.uid for one in after}
    assert len({one.uid for one in before}) == 9
    assert min(one.sequence for one in after) > max(one.sequence for one in before)
    another = entries(round_calendar([replace(sheet, day=date(2026, 3, 17))], NOW))
    assert not {one.uid for one in before} & {one.uid for one in another}


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2026, 3, 28), 24), (date(2026, 3, 29), 23), (date(2026, 10, 25), 25)]
)
def test_a_day_on_which_the_clock_changes(sheet: DaySheet, day: date, hours: int) -> None:
    """Minutes are of the wall clock; how long something lasts is not (EU rules for London)."""
    one = sheet.stops[0]
    stop = replace(one.stop, arrives=0, begins=0, ends=1440, leaves=1440)
    long = replace(sheet, day=day, stops=(replace(one, stop=stop),))
    (entry,) = entries(round_calendar([long], NOW))
    lasts = entry.dtend.astimezone(UTC) - entry.dtstart.astimezone(UTC)
    assert lasts == timedelta(hours=hours)


def test_files_of_a_long_day_are_made_at_once(sheet: DaySheet) -> None:
    """Two hundred stops: well under a second of the processor each, PDF aside."""
    many = replace(sheet, stops=sheet.stops * 22)
    makers: tuple[Callable[[], bytes], ...] = (
        lambda: geojson_bytes([many]), lambda: gpx_bytes([many], NOW),
    )  # fmt: skip
    for make in makers:
        begun = clock.process_time()
        make()
        assert clock.process_time() - begun < 0.5


def test_both_drivers_stand_in_one_calendar() -> None:
    plan = two_drivers()
    both = [sheet_of(plan), sheet_of(plan, BRAM)]
    found = entries(round_calendar(both, NOW))
    assert len(found) == 7
    assert sum("Goes: Bram Oystercatch" in one.description for one in found) == 3
