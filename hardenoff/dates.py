"""Dates and nights in a few words, the same on every machine: English names, whatever the locale."""

from __future__ import annotations

from datetime import date

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def short_day(on: date) -> str:
    """`Wed 5 May`: never a bare 5/6, which is two dates."""
    return f"{WEEKDAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"


def night_of(evening: date, morning: date) -> str:
    """`Wed 5 -> Thu 6 May`: a night is named by both of its dates."""
    if evening.month == morning.month:
        return f"{WEEKDAYS[evening.weekday()]} {evening.day} -> {short_day(morning)}"
    return f"{short_day(evening)} -> {short_day(morning)}"
