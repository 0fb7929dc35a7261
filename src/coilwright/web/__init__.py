"""Pages and what they load; no computation."""

from coilwright.web.case_app import case_app
from coilwright.web.listening import ListeningRefused, open_loopback, serve_until_stopped
from coilwright.web.shown_case import ShownCase, shown_case

__all__ = [
    "ListeningRefused",
    "ShownCase",
    "case_app",
    "open_loopback",
    "serve_until_stopped",
    "shown_case",
]
