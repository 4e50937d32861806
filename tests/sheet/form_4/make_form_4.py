"""Makes the entries and the sealed content of form 4 that are kept for good, one of every act and event.

    python tests/sheet/form_4/make_form_4.py

Existing files are left alone: what was once written in a form must be read for ever. Only before the first release,
while no book in use holds the form, may they be removed and made anew.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from inspection.attached import Attached
from inspection.drawing.plan import Part
from inspection.instruments.rules import CustomerRule, Rules
from inspection.layout.layout import Column, Grow, HeadPlace, Layout, Table
from inspection.measuring.checks import configured
from inspection.measuring.checks_life import Upset
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Role, Slot
from inspection.quantity.reader import read
from inspection.sheet import acts
from inspection.sheet.canonical.form_4 import write_entry
from inspection.sheet.cells import open_cells
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.head import Head, SubItem
from inspection.sheet.life import points_of
from inspection.sheet.measured import measurement
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.people import Duty, Person
from inspection.sheet.review import Returned, StatementKind
from inspection.studies.conducted import Specimen, StudyKind

HERE = Path(__file__).parent
ENTRIES, CONTENT = HERE / "entries.jsonl", HERE / "content.json"


def life_kind() -> Any:
    """The class of lives that the tests beside this folder use."""
    spec = importlib.util.spec_from_file_location("life", HERE.parent / "conftest.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def written() -> tuple[list[bytes], str]:
    """The canonical bytes of every entry of one full story, and the content of its first seal."""
    module = life_kind()
    lines: list[bytes] = []

    class Writing(module.Life):  # type: ignore[misc, name-defined]
        def do(self, act: Any, person: str | None = None, based_on: str = "", sign: Any = None) -> Any:
            entry, place = self.entry(person, based_on), len(lines)
            lines.append(b"")  # what follows from an act lies behind it
            events = super().do(act, person, based_on, sign)
            stream = self.sheet_id if isinstance(act, acts.OnSheet | acts.MakeSheet) else "shop"
            lines[place] = write_entry(stream=stream, sequence=place + 1, entry=entry, act=act, events=events)
            return events

    life = Writing().open(module.hand_crib(tags=("C-05", "M-01", "M-02", "P-32", "R-02", "T-06", "EYE")), checks=True)
    first = story(life, module.rows_of())
    return lines, first.seals[0].content


def story(life: Any, rows: Any) -> Any:
    """Every kind of act once, and some twice; the sheet that was sealed first."""
    life.enter("Bo Birch", Duty.LEAD, Duty.OFFICE)
    life.do(acts.EnterPerson(person=Person("", "Zoë Ångström", (Duty.INSPECTOR,))))
    life.change_instrument("C-05", due="2026-12-24", note="jaws lapped ⌀")
    agreed = CustomerRule("Harrow Mills", DecisionRule(RuleKind.PROBABILITY, 9_750))
    life.do(acts.IssueRules(rules=Rules(uncertainty_needed=250, customers=(agreed,))))
    plan = life.issue(rows)
    head = Head(order="4711", order_line="3", lot="L1", temperature="68 °F")
    life.do(acts.MakeSheet(plan=plan.identity, serials=("001", "002"), head=head))
    sheet = life.sheet_id
    life.do(acts.RunBy(sheet=sheet, order="feature"))
    first = life.take("1", ".51")
    life.take("1", "12.7mm", replaces=first.identity, reason='held "askew" \\ twice')
    life.take("9", "7.62")
    life.do(acts.LeaveOpen(sheet=sheet, question=life.question()))
    life.take("9", ".3", answers=life.question())
    life.take("9", "7.62", piece=1)
    life.do(acts.KeepAsWritten(sheet=sheet, question=life.question()))
    life.take("5", "enters", slot=Slot(role=Role.GO))
    life.take("6", ".5000", slot=Slot(role=Role.ENTERS))
    life.take("2", "3/4", slot=Slot("foot"), method=life.method("C-05"), reason="no micrometer")
    reading = life.take("4", "not as required")
    life.take_back(reading)
    life.put_back(reading)
    life.choose("1", "M-01", reason="at hand")
    life.do(acts.WriteNote(sheet=sheet, characteristic=life.row("4").identity, text="burr at the slot\nleft side"))
    again = replace(plan, part=Part("HB-7", "C", "hinge block"), identity="")
    issued = life.do(acts.IssuePlan(plan=again))[0].plan
    life.do(acts.AdoptPlan(sheet=sheet, plan=issued.identity))
    life.do(acts.ChooseRoute(sheet=sheet))
    life.change_instrument("C-05", due="2026-03-01")
    life.take("7.1", ".8")
    life.do(acts.IssueInstrument(instrument=replace(life.shop.by_tag("C-05"), due="2026-12-24")))
    life.do(acts.WriteHead(sheet=sheet, head=assembled(head)))
    certificate = Attached("55-201.pdf", "cd" * 32, 4_711)
    bar = Evidence(
        "", EvidenceKind.MATERIAL, "bar ⌀2 in", specification="QS-12", certificate="55-201", files=(certificate,)
    )
    life.do(acts.EnterEvidence(sheet=sheet, evidence=bar))
    hardness = Evidence("", EvidenceKind.TEST, "hardness", measurement=measurement("28 … 32 HRC", "30.5"))
    struck = life.do(acts.EnterEvidence(sheet=sheet, evidence=hardness))[0].evidence
    life.do(acts.EnterEvidence(sheet=sheet, evidence=replace(hardness, name="hardness of the core")))
    life.do(acts.StrikeEvidence(sheet=sheet, evidence=struck.identity, reason="entered twice"))
    prove(life)
    life.sign("the second piece is in the machine")
    life.do(acts.RecordSent(sheet=sheet, form="pdf", name="hb-7.pdf", digest="ab" * 32))
    life.reopen("the second piece came")
    life.take("1", ".5", piece=1)
    review(life)
    lay_out(life, sheet)
    return life.sheets[sheet]


def lay_out(life: Any, sheet: str) -> None:
    """A customer's layout, a further issue of it, and a package that was laid out by it."""
    table = Table(
        "Page 1", 9, 12, (Column("number", 1), Column("result", 4, 0, unit="mm"), Column("verdict", 5)), 2, Grow.SHEETS
    )
    layout = Layout(
        customer="Harrow Mills",
        name="FAI rev 3",
        workbook=Attached("fai.xlsx", "12" * 32, 9_000),
        heads=(HeadPlace("part", "Page 1", 3, 2), HeadPlace("serial", "Page 1", 4, 2, "S/N:", 1)),
        tables=(table, Table("Page 2", 4, 2, (Column("result", 3, 0),), numbered=(("7", 4), ("8.1", 6)))),
        words={"conforming": "Pass", "not conforming": "Fail"},
    )
    first = life.do(acts.IssueLayout(layout=layout))[0].layout
    again = replace(first, unit="mm", decimals=3, outward=True, pattern=True, day="%d/%m/%Y", into_protected=True)
    life.do(acts.IssueLayout(layout=again))
    held = (Attached("hb-7.pdf", "ab" * 32, 12), Attached("manifest.json", "ef" * 32, 7))
    layout = next(iter(life.shop.layouts))
    package = acts.RecordSent(
        sheet=sheet, form="package", name="hb-7.zip", digest="0f" * 32, layout=layout, layout_issue=2, files=held
    )
    life.do(package)


def prove(life: Any) -> None:
    """What doubt is computed from: checks good and failed, a mishap, a study, temperatures, a rule, a mean."""
    sheet = life.sheet_id
    rule = DecisionRule(RuleKind.GUARDED, printed=True)
    life.do(acts.ChooseDecisionRule(sheet=sheet, decision=rule, reason="agreed by letter"))
    life.do(
        acts.LogTemperature(
            sheet=sheet,
            part=23_400,
            instrument=22_900,
            thermometer="T-1",
            within=500,
            soak_minutes=60,
            written=("23.4", "22.9"),
            note="by the window",
        )
    )
    life.check("M-01", sheet=sheet)
    caliper = life.shop.by_tag("C-05")
    groups = ((12_700_000_000, 12_712_700_000), (12_700_000_000, 12_700_000_000))
    life.do(acts.RecordStudy(instrument=caliper.identity, configuration=configured(caliper), groups=groups))
    gauge_studies(life, caliper)
    life.take("7.2", ".8049", piece=1, method=life.method("M-01"), reason="the caliper is away")
    row, piece = life.cell("7.2", 1)
    life.do(acts.DeclareRepeats(sheet=sheet, characteristic=row, piece=piece, repeats=4))
    life.check("M-01", bad="wipe")
    life.do(acts.ReportUpset(instrument=life.shop.by_tag("M-02").identity, what=Upset.DROPPED, note="off the bench"))
    life.do(acts.RemoveForCause(instrument=life.shop.by_tag("R-02").identity, reason="bent"))


def gauge_studies(life: Any, caliper: Any) -> None:
    """A study by two people, with a question kept and a reading corrected, taken into use and withdrawn; and one given
    up."""
    who = (life.person, life.enter("Bo Tran", Duty.LEAD))
    start = acts.StartGaugeStudy(
        kind=StudyKind.CROSSED,
        title="slot ⌀",
        instrument=caliper.identity,
        configuration=configured(caliper),
        people=who,
        specimens=(Specimen("1"), Specimen("2")),
        trials=2,
        band=254_000_000,
        number="7",
    )
    plan = life.do(start)[0].study
    for run, each in enumerate(plan.runs):
        written = f".{500 + 20 * each.specimen + each.trial}" if run else ".50007"
        act = acts.TakeStudyReading(study=plan.identity, run=run, quantity=read(written, unit="in"))
        taken = life.do(act, person=who[each.person])[0].reading
        if taken.question is not None:
            life.do(acts.KeepStudyReading(study=plan.identity, reading=taken.identity), person=who[each.person])
    anew = acts.TakeStudyReading(
        study=plan.identity, run=run, quantity=read(".522", unit="in"), replaces=taken.identity, reason="a chip"
    )
    life.do(anew, person=who[1])
    record = life.do(acts.TakeStudyIntoUse(study=plan.identity, people=True), person=who[1])[0].study
    life.do(acts.WithdrawStudy(study=record.identity, reason="the parts were burred"), person=who[1])
    second = life.do(start)[0].study
    life.do(acts.GiveUpStudy(study=second.identity, reason="the parts are sold"))


def review(life: Any) -> None:
    """A return, nonconformances decided in several ways, rows read again, points answered, and a statement."""
    sheet, lead = life.sheet_id, life.enter("Lea Lund", Duty.LEAD)
    life.sign("the rest waits")
    words = (Returned(life.row("1").identity, life.sheet.pieces[0].identity, "read it at both ends ⌀"),)
    life.do(acts.ReturnSheet(sheet=sheet, rows=words), person=lead)
    life.make(("1", "2", "3"), *({"number": n, "kind": "length", "requirement": ".500 ±.005"} for n in ("1", "2")))
    for piece in (0, 1, 2):
        life.take("1", ".5070", piece)
        life.take("2", ".5000", piece)
    ways = (Disposition.REWORK, Disposition.SCRAP, Disposition.USE_AS_IS)
    for place, (how, piece) in enumerate(zip(ways, life.sheet.pieces, strict=True), 1):
        raised = acts.RaiseNonconformance(
            sheet=life.sheet_id,
            piece=piece.identity,
            characteristics=(life.row("1").identity,),
            number=f"NC-{place}",
            what="over by one feed step",
        )
        name = life.do(raised)[0].nonconformance.identity
        by_leave = Leave("CR-118", "2026-03-01", "piece 3, row 1") if how.by_leave else None
        affected = (life.row("2").identity,) if how.measured_again else ()
        decided = acts.DisposeNonconformance(
            sheet=life.sheet_id, nonconformance=name, disposition=how, words="agreed", affected=affected, leave=by_leave
        )
        life.do(decided, person=lead)
    life.take("1", ".5000")
    life.take("2", ".5000")
    life.sign("the caliper was not checked after the work") if open_cells(life.sheet) else life.sign()
    row, piece = life.cell("1")
    again = acts.ReadRowAgain(
        sheet=life.sheet_id, characteristic=row, piece=piece, slot=Slot(), quantity=read(".5005", unit="in")
    )
    life.do(again, person=lead)
    reading = next(name for names in life.sheet.standing.values() for name in names)
    marked = acts.MarkForReview(
        sheet=life.sheet_id,
        instrument=life.sheet.readings[reading].method.parts[0].identity,
        error=-5_080_000,
        size=12_700_000_000,
        since=life.sheet.made_at,
        readings=(reading,),
        words="found out at its calibration ⌀",
    )
    name = life.do(marked, person=lead)[0].mark.identity
    life.do(acts.AnswerMark(sheet=life.sheet_id, mark=name, words="read again, it holds"), person=lead)
    for point in points_of(life.shop, life.sheet, life.plans, life.entry().day):
        if point.must_answer:
            life.do(acts.AnswerPoint(sheet=life.sheet_id, point=point.key, words="read again"), person=lead)
    approved = acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED)
    life.do(approved, person=lead, sign=life.signer(lead))
    keep_documents(life, lead)
    follow(life, lead)


def keep_documents(life: Any, lead: str) -> None:
    """The signed PDF with the inspector's signature, with the lead's, and with a time stamp in that."""
    signed = ((life.sheet.seals[-1].digest, life.person, False), (life.sheet.statements[-1].digest, lead, False))
    files: tuple[Attached, ...] = ()
    for place, (signs, who, stamped) in enumerate((*signed, (signed[-1][0], lead, True))):
        files = (*(files[:-1] if stamped else files), Attached("hb-7.pdf", f"{place:064x}", 90_000 + place))
        kept = acts.KeepDocument(sheet=life.sheet_id, signs=signs, files=files, stamped=stamped)
        life.do(kept, person=who)


def follow(life: Any, lead: str) -> None:
    """A partial first article that completes a sheet, and a sheet that stands in another's place."""
    baseline = life.sheet_id
    said = acts.MakeStatement(sheet=baseline, kind=StatementKind.NOT_COMPLETE, words="row 1 of piece 3")
    life.do(said, person=lead, sign=life.signer(lead))
    life.do(acts.MakeSheet(plan=life.sheet.plan.identity, serials=("14",), completes=baseline))
    life.do(acts.AmendSheet(amended=baseline, reason="row 2 was read at the wrong end"), person=lead)


def assembled(head: Head) -> Head:
    """The head of an assembly with one sub-item."""
    return replace(head, detail="assembly", sub_items=(SubItem("HB-3", "A", "pin", sheet="S-118"),), cause="new_part")


def main() -> None:
    """Write both files."""
    if ENTRIES.exists() or CONTENT.exists():
        sys.exit("form 4 is there already and is kept for good")
    lines, content = written()
    ENTRIES.write_bytes(b"\n".join(lines) + b"\n")
    CONTENT.write_bytes(content.encode())


if __name__ == "__main__":
    main()
