"""``tenthwright approve``, ``state`` and ``release``: three statements of a signed sheet, each signed for itself."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator

from app.command.document_verbs import making_asked, pdf_data, pdf_lines
from app.command.outcome import Answer
from app.command.sheets import acting, opened, sheet_asked
from app.command.world import World, passphrase, plain_text
from app.jobs.hand import Hand
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.report_number import SHORT
from inspection.sheet.review import StatementKind
from inspection.words.say import say, word

#: What may be stated of a first article, as a command line names it.
FIRST_ARTICLE = {"complete": StatementKind.COMPLETE, "not-complete": StatementKind.NOT_COMPLETE}
#: What is said behind everything that stands in the way of a statement.
_KEPT = {
    StatementKind.APPROVED: "command.statement.not_approved",
    StatementKind.COMPLETE: "command.statement.not_complete",
}
#: Reasons that tell one thing of several and do not say what comes of it.
_ONE_OF_SEVERAL = frozenset({"sign.row_open", "approve.undecided", "approve.not_named", "review.not_complete"})


def approve(options: Namespace, world: World) -> Answer:
    """State that the record is true and complete."""
    return _stated(options, world, StatementKind.APPROVED, options.words)


def state(options: Namespace, world: World) -> Answer:
    """State that the first article is complete, or what it lacks."""
    return _stated(options, world, FIRST_ARTICLE[options.what], options.words)


def release(options: Namespace, world: World) -> Answer:
    """State that the run may go on, and within what."""
    return _stated(options, world, StatementKind.RELEASED, options.within)


def _stated(options: Namespace, world: World, kind: StatementKind, words: str) -> Answer:
    """Make a statement; the passphrase is asked for once it is plain that nothing else stands in the way."""
    from app.jobs.reviewing import may_state
    from app.jobs.signing import may_sign
    from app.jobs.signing import state as stating

    with opened(options, world) as hand:
        acting(options, hand)
        name = sheet_asked(options, hand)
        try:
            may_state(hand, acts.MakeStatement(sheet=name, kind=kind, words=plain_text(words)))
        except Refused as refused:
            raise _and_what_comes_of_it(refused, kind) from None
        person = may_sign(hand).name
        for caution in _cautions(hand, name, kind):
            world.err.write(f"{caution}\n")
        secret = passphrase(world, options.passphrase_file, person)
        signed = stating(hand, name, kind, secret, words=plain_text(words), making=making_asked(options))
    sheet = signed.sheet
    made = sheet.statements[-1]
    told = {"sheet": name[:SHORT], "statement": word(f"statement.{kind.name.lower()}"), "person": person}
    done = word("command.statement.done", round=made.round, digest=made.digest, **told)
    data = {"done": True, "sheet": name, "kind": kind.value, "person": person, "digest": made.digest}
    return Answer(
        (done, *pdf_lines(signed)), {**data, "round": made.round, "stage": sheet.stage.value, **pdf_data(signed)}
    )


def _cautions(hand: Hand, name: str, kind: StatementKind) -> Iterator[str]:
    """What a lead is to have read before the statement is made."""
    if kind is StatementKind.APPROVED and hand.book.sheet(name).is_own(hand.person):
        yield word("review.state.own")
    if kind is StatementKind.APPROVED:
        yield from stopping(hand, name, "review.state.stops")
    before = hand.book.sheet(name).first_article
    if kind in FIRST_ARTICLE.values() and before is not None:
        yield word("review.state.replaces", statement=f"statement.{before.kind.name.lower()}")
    if kind is StatementKind.RELEASED:
        stated = hand.book.sheet(name).first_article
        said = f"statement.{stated.kind.name.lower()}" if stated is not None else "review.state.unsaid"
        yield word("review.state.first_article", stated=word(said))
        yield word("caution.verdict")


def _and_what_comes_of_it(refused: Refused, kind: StatementKind) -> Refused:
    one_of = any(reason.code in _ONE_OF_SEVERAL for reason in refused.reasons)
    return Refused(*refused.reasons, Reason(_KEPT[kind])) if one_of and kind in _KEPT else refused


def stopping(hand: Hand, name: str, code: str) -> Iterator[str]:
    """What stops a sheet from going out and cannot be put right once it is signed, under the words of ``code``."""
    from inspection.sheet.missing import kept_back

    found = kept_back(hand.book.shop(), hand.book.sheet(name))
    if found:
        yield word(code, n=len(found))
        yield from (f"  {say(each.reason)}" for each in found)
