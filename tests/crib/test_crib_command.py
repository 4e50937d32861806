"""The crib on the command line: list, export, preview, take in."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from msgspec.structs import replace

from app.command.main import run
from inspection.instruments.keeping import Keeping, days_left, keeping_of
from inspection.instruments.record import Instrument, InstrumentKind, Standing
from storage.book.clock import Moment


class Shop:
    """A book with the starter crib, asked by command lines on the first of March 2026."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.ticks = folder, 1_772_323_200_000_000
        assert self.ask("new", "--shop", "Quillfeather Machine", "--person", "Mira Oduya", "--starter-crib")[0] == 0

    def clock(self) -> Moment:
        self.ticks += 1000
        return Moment(self.ticks, "2026-03-01")

    def ask(self, *words: str) -> tuple[int, str, str]:
        out, err = StringIO(), StringIO()
        environ = {"TENTHWRIGHT_PASSPHRASE": "long enough"}
        line = [*words, "--book", str(self.folder / "shop.tenthwright")]
        code = run(line, clock=self.clock, environ=environ, out=out, err=err)
        return code, out.getvalue(), err.getvalue()

    def listed(self, *options: str) -> list[dict[str, object]]:
        code, out, _ = self.ask("crib", "--json", *options)
        assert code == 0
        found: list[dict[str, object]] = json.loads(out)["instruments"]
        return found


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def test_what_is_due_and_what_is_out_of_service_can_be_listed_alone(shop: Shop) -> None:
    assert len(shop.listed()) > 100
    assert shop.listed("--overdue", "--soon", "--out-of-service") == []
    file = shop.folder / "changes.csv"
    file.write_text("tag,due,standing\nC-05,2026-02-28,\nC-06,2026-03-20,\nM-01,,out of service\n", encoding="utf-8")
    code, out, err = shop.ask("crib-take-in", str(file))
    assert (code, err) == (0, "")
    assert "C-05: due date 2027-03-01 → 2026-02-28" in out
    assert [one["tag"] for one in shop.listed("--overdue")] == ["C-05"]
    assert [one["tag"] for one in shop.listed("--soon")] == ["C-06"]
    assert [one["tag"] for one in shop.listed("--out-of-service", "--overdue")] == ["C-05", "M-01"]
    table = shop.ask("crib", "--overdue")[1]
    assert "overdue by one day" in table
    assert "digital caliper 6 in" in table


@pytest.mark.parametrize("name", ["crib.csv", "crib.xlsx"])
def test_what_was_exported_changes_nothing_when_taken_in(shop: Shop, name: str) -> None:
    file = shop.folder / name
    assert shop.ask("crib-export", str(file))[0] == 0
    code, out, _ = shop.ask("crib-take-in", str(file), "--json")
    told = json.loads(out)
    assert (code, told["taken"], told["new"], told["changed"]) == (0, False, [], [])
    assert told["same"] == len(shop.listed())


def test_a_preview_takes_nothing(shop: Shop) -> None:
    file = shop.folder / "more.csv"
    file.write_text("tag,kind,name,unit,range\nZ-1,digital caliper,new one,mm,0-150\n", encoding="utf-8")
    before = shop.listed()
    code, out, _ = shop.ask("crib-take-in", str(file), "--preview")
    assert code == 0
    assert "Z-1 is new: new one" in out
    assert shop.listed() == before
    shop.ask("crib-take-in", str(file))
    assert len(shop.listed()) == len(before) + 1


def test_a_file_with_faults_is_not_taken_and_an_odd_ending_not_written(shop: Shop) -> None:
    before = shop.listed()
    file = shop.folder / "bad.csv"
    file.write_text("tag,due\nC-05,2027-13-01\nC-06,2028-01-01\n", encoding="utf-8")
    code, _, err = shop.ask("crib-take-in", str(file))
    assert code == 3
    assert "Row 2, column “due”" in err
    assert shop.listed() == before
    code, _, err = shop.ask("crib-export", str(shop.folder / "crib.pdf"))
    assert code == 3
    assert ".xlsx" in err
    assert not (shop.folder / "crib.pdf").exists()


def test_where_an_instrument_stands_on_a_day() -> None:
    one = Instrument("", 0, "C-1", InstrumentKind.DIGITAL_CALIPER, "", due="2026-03-02")
    days = {
        "2026-01-01": Keeping.GOOD,
        "2026-01-31": Keeping.SOON,
        "2026-03-02": Keeping.SOON,
        "2026-03-03": Keeping.OVERDUE,
    }
    assert {day: keeping_of(one, day) for day in days} == days
    assert days_left(one, "2026-03-03") == -1
    assert keeping_of(replace(one, due=""), "2026-03-01") is Keeping.NO_DUE
    assert keeping_of(replace(one, standing=Standing.OUT_OF_SERVICE), "2026-01-01") is Keeping.OUT_OF_SERVICE
    assert keeping_of(replace(one, standing=Standing.REFERENCE_ONLY), "2026-01-01") is Keeping.REFERENCE_ONLY
    assert keeping_of(replace(one, as_calibrated=False), "2026-01-01") is Keeping.CHANGED


def test_a_certificate_table_comes_in_and_is_told_point_by_point(shop: Shop) -> None:
    file = shop.folder / "certificates.csv"
    heads = "tag,certificate,certified on,certificate table,out of square by,jaws"
    file.write_text(f"{heads}\nM-01,17/26,2026-02-27,outside 1 +.0001 U .00005; outside .5 0 U .00005,1°,\n", "utf-8")
    code, out, _ = shop.ask("crib-take-in", str(file))
    assert code == 0
    assert (
        "certificate table: now outside at 1 in +.0001 in U .00005 in; certificate table: now outside at .5 in 0" in out
    )
    assert "out of square by: now 1°" in out
    (micrometer,) = (one for one in shop.listed() if one["tag"] == "M-01")
    points: list[dict[str, object]] = micrometer["points"]  # type: ignore[assignment]
    assert [(point["use"], point["error"], point["factor"]) for point in points] == [
        ("outside", 2_540_000, 2_000),
        ("outside", 0, 2_000),
    ]


def test_a_point_that_cannot_be_is_told_by_cell_and_nothing_is_taken(shop: Shop) -> None:
    file = shop.folder / "certificates.csv"
    heads = "tag,certificate,certified on,certificate table,jaws"
    file.write_text(f"{heads}\nM-01,17/26,2026-02-27,outside 1 +1.0001 U .00005,\nM-02,,,,.016 ±.002\n", "utf-8")
    code, out, err = shop.ask("crib-take-in", str(file))
    assert code != 0
    said = out + err
    assert "more than 10 times the permissible error there, .0001 in" in said
    assert "Crossed inside jaws are those of calipers" in said
    assert next(one for one in shop.listed() if one["tag"] == "M-01")["points"] == []


def test_a_certificates_file_is_attached_once_and_written_out_again(shop: Shop) -> None:
    paper, out_again = shop.folder / "K-17.pdf", shop.folder / "again.pdf"
    paper.write_bytes(b"%PDF-1.4 a certificate")
    assert "--attach FILE" in shop.ask("crib-file", "M-01")[1]
    assert "K-17.pdf is kept with M-01" in shop.ask("crib-file", "M-01", "--attach", str(paper))[1]
    assert "attached to M-01 already" in shop.ask("crib-file", "M-01", "--attach", str(paper))[1]
    assert shop.ask("crib-file", "M-01")[1] == "K-17.pdf  22 bytes\n"
    assert shop.ask("crib-file", "M-01", "--save-out", str(out_again))[0] == 0
    assert out_again.read_bytes() == paper.read_bytes()
    out_again.unlink()
    code, _, err = shop.ask("crib-file", "M-01", "--save-out", str(out_again), "--name", "K-18.pdf")
    assert code == 3 and "Attached are: K-17.pdf" in err and not out_again.exists()
    assert shop.ask("crib-file", "M-01", "--attach", str(shop.folder / "none.pdf"))[0] == 4
    paper.write_bytes(b"")
    assert shop.ask("crib-file", "M-01", "--attach", str(paper))[0] == 3
