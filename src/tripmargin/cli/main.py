"""The entry point: `tripmargin`."""

from __future__ import annotations

import errno
import os
import sys
from typing import Any

import click

from tripmargin import __version__
from tripmargin.cli.language import SETTING, speak_as_asked, speak_as_the_terminal
from tripmargin.cli.lazy import Later, LazyGroup

# Our matrices are small: more threads only wait for each other (measured: `reach` took from 0.28 s
# with one to 2 s with more, on a busy machine). Set before anything imports numpy; a person's own
# setting stays.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

REFUSED, INTERRUPTED = 2, 130  # exit codes: the question can't be answered; stopped by Ctrl-C

COMMANDS = {
    "prove": Later(
        "tripmargin.cli.proving", "prove", "Is this machine protected, and what holds it back?"
    ),
    "reach": Later("tripmargin.cli.sensing", "reach", "What does the sensor see, and where?"),
    "race": Later("tripmargin.cli.racing", "race", "Does the stop win against the metal?"),
    "show": Later("tripmargin.cli.showing", "show", "How does it stop? One page that plays it."),
    "set-pawls": Later(
        "tripmargin.cli.setting", "set_pawls", "What do I turn, and what does it bring?"
    ),
    "set-threshold": Later(
        "tripmargin.cli.setting_threshold",
        "set_threshold",
        "Where should the detector's threshold stand?",
    ),
    "find-fault": Later(
        "tripmargin.cli.finding", "find_fault", "What is broken, and what is the cheapest check?"
    ),
    "drill": Later(
        "tripmargin.cli.drilling", "drill", "Practise: find a hidden fault, and be scored."
    ),
    "chart": Later(
        "tripmargin.cli.charting", "chart", "The fault chart on paper, and what the checks prove."
    ),
    "report": Later(
        "tripmargin.cli.reporting", "report", "Reports on paper, or as one page: read them back."
    ),
    "card": Later("tripmargin.cli.card", "card", "The phone card: one page, without a network."),
    "machine": Later(
        "tripmargin.cli.machine", "machine", "Write, check and show a machine's file."
    ),
    "read": Later(
        "tripmargin.cli.reading", "read_file", "A logger's file or sound: stop time, noise."
    ),
    "measure": Later(
        "tripmargin.cli.measuring", "measure", "Learn a machine from pieces passed and stops timed."
    ),
    "log": Later("tripmargin.cli.log", "log", "What happened to each machine, kept and moved."),
    "serve": Later("tripmargin.cli.serving", "serve", "The web app of a workshop, for phones too."),
}


class Main(LazyGroup):
    """The whole command line: refusals as plain text, and no traceback for a person's mistake."""

    def main(self, *args: Any, **more: Any) -> Any:
        """Run; letters that an old terminal lacks are replaced, never fatal."""
        for stream in (sys.stdout, sys.stderr):
            if hasattr(stream, "reconfigure"):
                stream.reconfigure(errors="replace")
        speak_as_the_terminal()
        return super().main(*args, **more)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, and say in plain words what stopped it."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            from tripmargin.ground.languages import say

            click.echo("\n" + say("Stopped. Nothing was left half written."), err=True)
            ctx.exit(INTERRUPTED)
        except ValueError as error:  # every refusal of ours is one, or a TripmarginError
            _refuse(ctx, error)
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise  # the reader went away: click ends quietly
            where = f"{error.filename}: " if error.filename else ""
            from tripmargin.ground.os_words import os_words

            _refuse(ctx, f"{where}{os_words(error)}")
        except Exception as error:
            from tripmargin.ground.errors import TripmarginError

            if not isinstance(error, TripmarginError):
                raise
            _refuse(ctx, error)


def _refuse(ctx: click.Context, words: object) -> None:
    click.echo(f"{words}", err=True)
    ctx.exit(REFUSED)


@click.group(
    cls=Main,
    later=COMMANDS,
    help="Is a machine's feed-stop protection in time, and for which metal?",
    context_settings={"max_content_width": 100},
    epilog="A MACHINE is a machine file, or a demo machine: dunlin, curlew, whimbrel, sanderling."
    " The protection saves knives, not people: the operator's manual comes first.",
)
@click.option(
    "--language",
    metavar="CODE",
    envvar=SETTING,
    callback=speak_as_asked,
    expose_value=False,
    is_eager=True,
    help="Language of what is said, such as en. Default: the terminal's, where it is known.",
)
@click.version_option(__version__, prog_name="tripmargin", help="Show the version and exit.")
def main() -> None:
    """Take the options that come before every command."""
