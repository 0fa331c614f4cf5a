"""What lamps and buzzers show, and the rolls do, in each step of a daily check, in words."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.faultfinding.suspects.sound_signs import SoundStep, sound_steps
from tripmargin.ground.errors import NotKnownError, TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.machine import Machine

_WORDS = {
    "lamp": {
        "on": later("Lit: {names}."),
        "dim": later("Faint: {names}."),
        "flicker": later("Flickers: {names}."),
        "off": later("Dark: {names}."),
    },
    "buzzer": {
        "on": later("Sounds: {names}."),
        "dim": later("Sounds weakly: {names}."),
        "flicker": later("Comes and goes: {names}."),
        "off": later("Silent: {names}."),
    },
}
_ROLLS = {
    "stopped": later("Rolls: stopped."),
    "forward": later("Rolls: turn forward."),
    "reverse": later("Rolls: turn in reverse."),
    "jerking": later("Rolls: jerk."),
}
_ROLLS_RUNNING = {
    "stopped": later("Rolls, seen from out of reach: stopped."),
    "forward": later("Rolls, seen from out of reach: turn forward."),
    "reverse": later("Rolls, seen from out of reach: turn in reverse."),
    "jerking": later("Rolls, seen from out of reach: jerk."),
}
"""With the engine running: also rolls that are stopped may start."""
NO_STEPS = later(
    "What lamps, buzzer and rolls should show in each step is not known here: the machine's file"
    " has no [circuit]. The operator's manual says it."
)
NOT_SOLVED = later(
    "What lamps, buzzer and rolls should show in each step is not known here: the machine's"
    " circuit could not be worked out. The operator's manual says it."
)
NOT_IN_CHECK = later(
    "No step of the daily check: what should show then is not worked out. The operator's manual"
    " says it."
)


@dataclass(frozen=True, slots=True)
class Lamps:
    """Each step of the daily check with what should show then.

    Attributes
    ----------
    steps : dict of str to SoundStep
        In the order of the check; empty where nothing is known.
    because : str
        Why nothing is known, to be said.
    """

    steps: dict[str, SoundStep]
    because: str = ""

    def do(self, step: str) -> str:
        """What is done to come to a step; empty where the file does not say."""
        return self.steps[step].do if step in self.steps else ""

    def words(self, step: str) -> tuple[str, ...]:
        """What should show, a sentence each: "Rolls: stopped.", "Lit: trip latched." and so on.

        Empty where nothing is known: then `notes` say so.
        """
        if step not in self.steps:
            return () if self.because else (say(NOT_IN_CHECK),)
        found: dict[str, list[str]] = {}
        signs, rolls = self.steps[step].signs, self._rolls(self.steps[step])
        for kind, words in _WORDS.items():
            for word, said in words.items():
                names = [sign.name for sign in signs if (sign.kind, sign.word) == (kind, word)]
                found.setdefault(said, []).extend(names)
        lines = tuple(
            say(said, names=", ".join(map(as_written, names)))
            for said, names in found.items()
            if names
        )
        return (*rolls, *lines) or (say("Nothing to be seen from here."),)

    @staticmethod
    def _rolls(step: SoundStep) -> tuple[str, ...]:
        """What the rolls do: first of all, for the step is made to see just that."""
        words = _ROLLS_RUNNING if step.running else _ROLLS
        return (say(words[step.rolls]),) if step.rolls else ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What holds for all steps."""
        if self.because:
            return (say(self.because),)
        signs = {sign.name: sign for each in self.steps.values() for sign in each.signs}
        hidden = dict.fromkeys(name for each in self.steps.values() for name in each.not_seen)
        places = [
            f"{as_written(each.name)} ({as_written(each.place)})"
            for each in signs.values()
            if each.place
        ]
        notes = [say("Worked out from the circuit in the machine's file, without any fault.")]
        if places:
            notes.append(say("Where they are: {places}.", places=", ".join(places)))
        if hidden:
            not_looked_at = say(
                "Beside the machine, so not looked at while the engine runs: {names}.",
                names=", ".join(map(as_written, hidden)),
            )
            notes.append(not_looked_at)
        return tuple(notes)


def lamp_words(machine: Machine) -> Lamps:
    """What should show on a machine; some hundredths of a second."""
    try:
        return Lamps({each.step: each for each in sound_steps(machine)})
    except NotKnownError:
        return Lamps({}, NO_STEPS)
    except TripmarginError:
        return Lamps({}, NOT_SOLVED)
