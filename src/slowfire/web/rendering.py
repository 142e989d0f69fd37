"""Templates with what every page needs, and blocks of them for pages that are there already."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from gettext import NullTranslations
from pathlib import Path
from typing import Any

from babel.dates import format_date, format_datetime
from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from slowfire.web.home import Home

TEMPLATES = Path(__file__).parent / "templates"
LOCALES = ("en", "en_GB", "en_US")


@cache
def environment() -> Environment:
    """Jinja with escaping, translation and dates."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    made.install_gettext_translations(NullTranslations())  # type: ignore[attr-defined]
    return made


def page(
    request: Request,
    template: str,
    values: Mapping[str, Any],
    status: int = 200,
    block: str | None = None,
) -> HTMLResponse:
    """Render a template; for an htmx request only the named block of it.

    Parameters
    ----------
    request : Request
        Being answered.
    template : str
        File name.
    values : mapping
        For the template.
    status : int
        Of the answer.
    block : str or None
        Name of the part that an htmx request gets.

    Returns
    -------
    HTMLResponse
    """
    home: Home = request.app.state.home
    known = home.store.has_site()
    site = home.store.site() if known else None
    zone = site.zone if site is not None else None
    locale = locale_of(request, site.units if site is not None else "metric")

    def day(when: datetime) -> str:
        return format_date(when.astimezone(zone), "EEE d MMM", locale=locale)

    def moment(when: datetime) -> str:
        return format_datetime(when.astimezone(zone), "EEE d MMM, HH:mm", locale=locale)

    everything = {
        "root": request.scope.get("root_path", ""),
        "home": home,
        "site": site,
        "day": day,
        "moment": moment,
        "here": request.url.path.removeprefix(request.scope.get("root_path", "")),
        "bins": [] if site is None else [one.name for one in site.bins],
        "bin_name": "",
        **values,
    }
    found = environment().get_template(template)
    if block is not None and request.headers.get("hx-request"):
        context = found.new_context(everything)
        text = "".join(found.blocks[block](context))
    else:
        text = found.render(everything)
    return HTMLResponse(text, status)


def locale_of(request: Request, units: str) -> str:
    """The locale of dates: what the browser asks for, if it is one there are words for."""
    wanted = request.headers.get("accept-language", "").split(",")[0].strip().replace("-", "_")
    if wanted in LOCALES:
        return wanted
    return "en_US" if units == "us" else "en_GB"
