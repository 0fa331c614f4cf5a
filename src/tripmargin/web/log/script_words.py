"""What the scripts of the log and of measuring say: the page brings it in the reader's language."""

from __future__ import annotations

import json

from tripmargin.ground.languages import later, say

SCRIPTS = ("outbox.js", "log_form.js", "measuring.js", "recorder.js")
SCRIPT_WORDS = (
    later("The server does not answer as it should."),
    later("No connection."),
    later("{who} is not signed in."),
    later("{who} entered this; it is sent when {who} signs in."),
    later("The server could not take it just now ({status})."),
    later("It was too large or not whole."),
    later("Your role does not reach, or the entry is not yours to correct."),
    later("The machine or the entry is not there any more."),
    later("It was too large. Leave some photos out."),
    later("The server did not take it ({status})."),
    later(
        "The protection does not work as it should. Do not work with this machine until it is found"
        " and a check has passed."
    ),
    later("Kept on this phone, not yet sent"),
    later("Not taken by the server, still on this phone"),
    later("Send now"),
    later("Of {who}."),
    later("Mend it"),
    later("Yes, throw it away"),
    later("Throw it away"),
    later("Leave out {name}"),
    later('"{name}" is larger than 8 MB. Leave it out, or send a smaller copy.'),
    later("{count} photos: at most 6 for one entry."),
    later("Not kept yet. It stays on this phone until it is mended."),
    later("The entry that was kept"),
    later("Make it {text}"),
    later("A comma inside a number. Is it a decimal point?"),
    later("Not kept yet. A comma inside a number. Is it a decimal point?"),
    later("What you had typed at {when} is back."),
    later("Start anew"),
    later("{title}: caught"),
    later("{title}: missed"),
    later("Kept on this phone as caught."),
    later("Kept on this phone as missed."),
    later("It is sent by itself later; then the next piece comes."),
    later(
        "The browser does not let this page use the microphone. Allow it in the browser's settings"
        " for this page, or choose a file below."
    ),
    later(
        "There is no microphone that can be used. Choose a file below; a phone's own recorder makes"
        " one."
    ),
    later("Record again"),
    later("Recorded: {time} s. Now read it."),
)
"""Every `say` of these scripts; a test holds the two together."""


def script_words() -> str:
    """English to the reader's language, as JSON: only what differs, for English needs none."""
    words = {text: say(text) for text in SCRIPT_WORDS}
    return json.dumps(
        {text: said for text, said in words.items() if said != text}, ensure_ascii=False
    )
