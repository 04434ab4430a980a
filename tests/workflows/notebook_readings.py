"""What is done with readings and places, in any order, beside the model of what that should do."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule
from made_tests import sent
from notebook_bench import NUMBERS, PEOPLE, SIZES, NotebookBench
from notebook_model import TestModel

from ballbench.errors import BadRequest
from ballbench.workflows.bench_requests import Entry, PutOff, ReadAgain, Spoil, TakeBack
from ballbench.workflows.correct import Amend, amend_readings
from ballbench.workflows.measure import enter, put_off_place, read_again, spoil, take_back

__all__ = ["NotebookReadings"]

DIGITS = st.integers(0, 9)
NO_READING = st.sampled_from(("", "40.2.1", "perhaps", "?40.2", "40.2 kg m", "OL"))
ACTIONS = {"correct": "corrected", "exclude": "excluded", "keep": "kept"}


class NotebookReadings(NotebookBench):
    """Readings are entered, confirmed, taken back, corrected, excluded; attempts spoiled; places put off and added."""

    def typed(self, test: TestModel, place: int, digit: int) -> str:
        """An ordinary reading of a place."""
        quantity = test.places[place]["quantity"]
        if quantity == "crack":
            return "yes" if digit % 2 else "no"
        return f"25{digit}" if quantity == "rebound" else f"{SIZES[test.units[quantity]]}{digit}"

    @rule(which=NUMBERS, where=NUMBERS, digit=DIGITS, by=PEOPLE, client=st.integers(0, 1))
    def read(self, which: int, where: int, digit: int, by: str, client: int) -> None:
        """Enter an ordinary reading: it is kept, or asked about as the gate sees fit, and never lost."""
        test = self.chosen(which)
        place = self.place(test, where)
        request = Entry(**sent(place=place, text=self.typed(test, place, digit)))
        self.entered(test, replace(request, by=by, client=f"tab {client}"))

    @rule(which=NUMBERS, count=st.integers(2, 8), digit=DIGITS)
    def read_on(self, which: int, count: int, digit: int) -> None:
        """Read the next places in their order, as at the bench."""
        test = self.chosen(which)
        empty = [place for place in sorted(test.places) if not test.filled(place)]
        for number, place in enumerate(empty[:count]):
            self.entered(test, Entry(**sent(place=place, text=self.typed(test, place, (digit + number) % 10))))

    def entered(self, test: TestModel, request: Entry) -> None:
        """Send an entry and take its reply into the model."""
        if test.finished:
            self.refused(enter, test, request)
            return
        place = request.place
        reply = self.do(enter, test, request)
        if reply["status"] == "asked":
            assert test.places[place]["quantity"] != "crack"
            assert not request.confirms
            test.sitting_now(request.by)
            test.questions[place] = (request.key, request.text)
            return
        unit, number = test.units.get(test.places[place]["quantity"], "1"), reply["reading"]["id"]
        test.keep(number, place, request.text, unit, request.by, request.at, confirmed=bool(request.confirms))

    @rule(which=NUMBERS, where=NUMBERS)
    def mistype(self, which: int, where: int) -> None:
        """Leave the decimal point out: a hundred times too large, it is asked about beside readings that are none."""
        test = self.chosen(which)
        sized = [n for n, own in sorted(test.places.items()) if own["quantity"] in {"diameter", "mass"} and own["ball"]]
        if not sized or test.finished or any(one.confirmed for one in test.readings):
            return
        place = sized[where % len(sized)]
        unit = test.units[test.places[place]["quantity"]]
        self.entered(test, Entry(**sent(place=place, text=SIZES[unit].replace(".", "").lstrip("0") + "1")))
        assert place in test.questions

    @rule(which=NUMBERS, number=NUMBERS)
    def confirm(self, which: int, number: int) -> None:
        """Type an entry again that was asked about: it is kept as read; with a key of no question it is refused."""
        test = self.chosen(which)
        if not test.questions or test.finished:
            return
        place = sorted(test.questions)[number % len(test.questions)]
        asked, text = test.questions[place]
        self.refused(enter, test, Entry(**sent(place=place, text=text, confirms="no such question")))
        self.entered(test, Entry(**sent(place=place, text=text, confirms=asked)))
        assert test.readings[-1].place == place

    @rule(which=NUMBERS, where=NUMBERS, text=NO_READING)
    def say_nothing(self, which: int, where: int, text: str) -> None:
        """What is no reading is refused."""
        test = self.chosen(which)
        self.refused(enter, test, Entry(**sent(place=self.place(test, where), text=text)))

    @precondition(lambda self: any(test.readings for test in self.tests))
    @rule(which=NUMBERS, number=NUMBERS)
    def take_back(self, which: int, number: int) -> None:
        """Take a reading back; once only, and not of a finished test."""
        test = self.chosen(which)
        if not test.readings:
            return
        one = test.readings[number % len(test.readings)]
        request = TakeBack(**sent(reading=one.id))
        if test.finished or not one.stands:
            self.refused(take_back, test, request)
            return
        self.do(take_back, test, request)
        one.standing, one.right = "taken back", ""

    @precondition(lambda self: any(test.readings for test in self.tests))
    @rule(which=NUMBERS, number=NUMBERS, actions=st.lists(st.sampled_from(sorted(ACTIONS)), min_size=1), digit=DIGITS)
    def amend(self, which: int, number: int, actions: list[str], digit: int) -> None:
        """Correct, exclude or keep a reading, whatever was said of it before, of a finished test too."""
        test = self.chosen(which)
        if not test.readings:
            return
        one = test.readings[number % len(test.readings)]
        for turn, action in enumerate(actions):
            text = self.typed(test, one.place, (digit + turn) % 10) if action == "correct" else ""
            request = Amend(**sent(readings=(one.id,), action=action, reason="=paper sheet", text=text))
            if text and test.what(one.place)[0] is None:
                self.refused(amend_readings, test, request)
                continue
            try:
                self.do(amend_readings, test, request)
            except BadRequest as error:  # beside confirmed slips an ordinary value may itself look like one
                if [fault.where for fault in error.faults] != ["text"] or not any(r.confirmed for r in test.readings):
                    raise
                continue
            one.standing, one.right = ACTIONS[action], text

    @rule(which=NUMBERS, where=NUMBERS, by=PEOPLE)
    def spoil(self, which: int, where: int, by: str) -> None:
        """Note an attempt that gave no reading: it answers what was asked at its place."""
        test = self.chosen(which)
        place = self.place(test, where)
        request = replace(Spoil(**sent(place=place, reason="hit the tube")), by=by)
        if test.finished:
            self.refused(spoil, test, request)
            return
        self.do(spoil, test, request)
        test.sitting_now(by)
        test.spoiled[place] += 1
        test.questions.pop(place, None)

    @rule(which=NUMBERS, where=NUMBERS)
    def put_off(self, which: int, where: int) -> None:
        """Leave a place for later."""
        test = self.chosen(which)
        request = PutOff(**sent(place=self.place(test, where)))
        if test.finished:
            self.refused(put_off_place, test, request)
            return
        self.do(put_off_place, test, request)
        test.put_off[request.place] += 1

    @rule(which=NUMBERS, where=NUMBERS)
    def read_again(self, which: int, where: int) -> None:
        """Ask for one more reading of a ball: a place more; a piece cannot be asked for."""
        test = self.chosen(which)
        ball, reference, quantity, axis = test.what(self.place(test, where))
        request = ReadAgain(**sent(ball=ball or 0, quantity=quantity, axis=axis, reason="odd"))
        if test.finished or reference is not None:
            self.refused(read_again, test, request)
            return
        reply = self.do(read_again, test, request)
        test.places[reply["place"]["id"]] = {"ball": ball, "reference": None, "quantity": quantity, "axis": axis}
