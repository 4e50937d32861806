"""Every reason that the choice can give has its sentence, and every sentence of its subject is given by some reason."""

from __future__ import annotations

import inspect
import re
import tomllib
from importlib import resources

from inspection.instruments import assess, comparing, reach
from inspection.instruments.method import Assessment
from inspection.reasons import Reason
from inspection.words.say import say


def codes() -> set[str]:
    source = "".join(map(inspect.getsource, (reach, assess, comparing)))
    named = set(re.findall(r'check\(\s*"(\w+)"', source)) | set(re.findall(r'yield "(\w+)"', source))
    failing_only = {"configuration", "class", "band", "ends"}
    holding_only = {"certificate"}
    written_out = set(re.findall(r'Reason\(\s*"(reach\.[\w.]+)"', source))
    failing = {f"reach.{name}.not" for name in named - holding_only}
    return failing | {f"reach.{name}" for name in named - failing_only} | written_out


def test_codes_and_sentences_agree() -> None:
    text = (resources.files("resources") / "words" / "en" / "choice.toml").read_text(encoding="utf-8")
    sentences = {code for code in tomllib.loads(text) if code.startswith("reach.")}
    assert len(codes()) > 20
    assert sentences == codes()
    assert "ratio.short" in inspect.getsource(Assessment)


def test_a_short_ratio_is_said() -> None:
    said = say(Reason("ratio.short", {"ratio": "accuracy", "got": "3.33", "needed": "4"}))
    assert said == "accuracy 3.33 : 1, 4 : 1 is needed"
