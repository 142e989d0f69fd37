"""Templates with what every page needs, and blocks of them for pages that are there already."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from gettext import GNUTranslations, NullTranslations, translation
from pathlib import Path
from typing import Any

from babel import Locale, negotiate_locale
from babel.dates import format_date, format_datetime
from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from slowfire.web.home import Home
from slowfire.web.security import LOOPBACK
from slowfire.web.visitors import visitor_of

TEMPLATES = Path(__file__).parent / "templates"
CATALOGUES = Path(__file__).parent / "locales"
DOMAIN = "slowfire"
ENGLISH = ("en_GB", "en_US", "en_AU", "en_CA", "en_IE", "en_NZ", "en_ZA", "en")


def languages(catalogues: Path = CATALOGUES) -> tuple[str, ...]:
    """Locales that there are words for: English, and every catalogue that was compiled."""
    found = sorted(one.parts[-3] for one in catalogues.glob(f"*/LC_MESSAGES/{DOMAIN}.mo"))
    return (*ENGLISH, *found)


@cache
def translations(locale: str, catalogues: Path = CATALOGUES) -> NullTranslations | GNUTranslations:
    """Words of a locale; what it lacks stays English."""
    wanted = [locale, locale.split("_")[0]]
    return translation(DOMAIN, catalogues, languages=wanted, fallback=True)


@cache
def environment(locale: str = "en", catalogues: Path = CATALOGUES) -> Environment:
    """Jinja with escaping, translation and dates."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    made.install_gettext_translations(  # type: ignore[attr-defined]
        translations(locale, catalogues), newstyle=True
    )
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
    visitor = visitor_of(request)
    known = home.store.has_site()
    site = home.store.site() if known else None
    zone = site.zone if site is not None else None
    locale = locale_of(request, site.units if site is not None else "metric")

    def day(when: datetime) -> str:
        return format_date(when.astimezone(zone), "EEE d MMM", locale=locale)

    def moment(when: datetime) -> str:
        return format_datetime(when.astimezone(zone), "EEE d MMM, HH:mm", locale=locale)

    everything = {
        "visitor": visitor,
        "csrf": Markup("") if visitor is None else visitor.field,
        # who stands outside with no more than a code sees no other page, nor its name
        "inside_door": visitor is not None and not shown_outside(request),
        "tls": request.url.scheme == "https" or request.url.hostname in LOOPBACK,
        "lang": locale.replace("_", "-"),
        "reads": Locale.parse(locale).text_direction,
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
    found = environment(locale).get_template(template)
    if block is not None and request.headers.get("hx-request"):
        context = found.new_context(everything)
        text = "".join(found.blocks[block](context))
    else:
        text = found.render(everything)
    return HTMLResponse(text, status)


def shown_outside(request: Request) -> bool:
    """Whether a page is one for people without an account."""
    path = request.url.path.removeprefix(request.scope.get("root_path", ""))
    return path.startswith(("/lid/", "/sign-in", "/pair/"))


def locale_of(request: Request, units: str) -> str:
    """The locale that the browser asks for, if there are words for it; else by the units."""
    wanted = [
        one.split(";")[0].strip().replace("-", "_")
        for one in request.headers.get("accept-language", "").split(",")
    ]
    found = negotiate_locale([one for one in wanted if one], languages())
    if found is None or found == "en":
        return "en_US" if units == "us" else "en_GB"
    return found
