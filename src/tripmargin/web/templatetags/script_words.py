"""The words of the scripts, for a page that loads them."""

from __future__ import annotations

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from tripmargin.web.log import script_words as words

register = template.Library()


@register.simple_tag
def script_words() -> SafeString:
    """An element that shows nothing and holds what the scripts say (outbox.js reads it)."""
    return format_html(
        '<template id="script-words" data-words="{}"></template>', words.script_words()
    )
