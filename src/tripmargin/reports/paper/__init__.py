"""Reports on paper and as one HTML file: one document, two writers, its numbers inside."""

from tripmargin.reports.paper.commissioning import Trial, commissioning_report
from tripmargin.reports.paper.document import PAPERS, Document
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.reading import ReportError, read_report
from tripmargin.reports.paper.typesetting import pdf_of

__all__ = [
    "PAPERS",
    "Document",
    "ReportError",
    "Trial",
    "commissioning_report",
    "html_of",
    "pdf_of",
    "read_report",
]
