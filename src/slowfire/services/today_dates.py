"""Days and spans of time in words."""

from datetime import datetime

from slowfire.advise.condition import Spread

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MANY_WEEKS = 10.0
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def full_day(when: datetime) -> str:
    """Weekday, day and month.

    Examples
    --------
    >>> full_day(datetime(2026, 3, 13))
    'Friday 13 March'
    """
    return f"{DAYS[when.weekday()]} {when.day} {MONTHS[when.month - 1]}"


def near_day(when: datetime, now: datetime) -> str:
    """The weekday alone within six days, else with its date.

    Examples
    --------
    >>> near_day(datetime(2026, 3, 13), datetime(2026, 3, 10))
    'Friday'
    >>> near_day(datetime(2026, 3, 20), datetime(2026, 3, 10))
    'Friday 20 March'
    """
    return DAYS[when.weekday()] if abs((when.date() - now.date()).days) <= 6 else full_day(when)


def short_day(when: datetime, now: datetime) -> str:
    """Three letters of the weekday within six days, else day and month.

    Examples
    --------
    >>> short_day(datetime(2026, 3, 7), datetime(2026, 3, 10))
    'Sat'
    >>> short_day(datetime(2026, 2, 27), datetime(2026, 3, 10))
    '27 Feb'
    """
    if abs((when.date() - now.date()).days) <= 6:
        return DAYS[when.weekday()][:3]
    return f"{when.day} {MONTHS[when.month - 1][:3]}"


def days_ago(when: datetime, now: datetime) -> str:
    """today, yesterday, or so many days ago, by the date.

    Examples
    --------
    >>> days_ago(datetime(2026, 3, 9, 23), datetime(2026, 3, 10, 1))
    'yesterday'
    """
    days = (now.date() - when.date()).days
    return "today" if days <= 0 else "yesterday" if days == 1 else f"{days} days ago"


def age_words(hours: float) -> str:
    """How old something is.

    Examples
    --------
    >>> [age_words(one) for one in (0.4, 1.2, 5.0, 30.0, 75.0)]
    ['just made', '1 hour old', '5 hours old', '1 day old', '3 days old']
    """
    if hours < 1.0:
        return "just made"
    count, unit = (hours, "hour") if hours < 24.0 else (hours / 24.0, "day")
    return f"{int(count)} {unit if int(count) == 1 else unit + 's'} old"


def span_words(days: float) -> str:
    """A span of time as one would say it.

    Examples
    --------
    >>> [span_words(one) for one in (1.0, 10.0, 40.0, 140.0)]
    ['1 day', '10 days', '6 weeks', '5 months']
    """
    if days < 14.0:
        count, unit = round(days), "day"
    elif days < 70.0:
        count, unit = round(days / 7.0), "week"
    else:
        count, unit = round(days / 30.4), "month"
    return f"{count} {unit}" if count == 1 else f"{count} {unit}s"


def weeks_words(weeks: Spread) -> str:
    """Weeks of room.

    Examples
    --------
    >>> [weeks_words(Spread(*x)) for x in ((1.4, 2.6, 4.2), (0.0, 5.2, 40.0), (12.0, 20.0, 40.0))]
    ['1 to 4 weeks', 'about 5 weeks, unsure', 'months']
    """
    if weeks.low >= MANY_WEEKS:
        return "months"
    low, mid, high = (max(round(one), 0) for one in (weeks.low, weeks.mid, weeks.high))
    if high < 1:
        return "less than a week"
    if high - low > 3 and weeks.high > 6.0 * max(weeks.low, 0.5):
        if mid < 1:
            return "less than a week, unsure"
        if mid > MANY_WEEKS:
            return "months, unsure"
        return f"about {mid} week{'' if mid == 1 else 's'}, unsure"
    if low == high:
        return f"{high} week" if high == 1 else f"{high} weeks"
    return f"{low} to {high} weeks"
