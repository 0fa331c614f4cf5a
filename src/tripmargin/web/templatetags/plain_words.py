"""The library's words on a page, without its keywords."""

from __future__ import annotations

from django import template

from tripmargin.web.measuring.plain_words import plainly

register = template.Library()
register.filter("plainly", plainly)
