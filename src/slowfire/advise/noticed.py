"""What the keeper saw or smelled of late, as a trouble with one check to do."""

from slowfire.advise.causes import Ranked, clues_of, ranked_causes
from slowfire.advise.condition import Condition
from slowfire.advise.rules import look_days, share
from slowfire.advise.scoring import FOUL
from slowfire.advise.troubles import Action, Expectation, Trouble

DANGERS = ("rats or mice", "bulging", "leaking")
TOLD = {
    "rats or mice": "signs of rats or mice",
    "bulging": "a bulge",
    "leaking": "a drain that is at fault",
    "ammonia": "a smell of ammonia",
    "sour": "a sour smell",
    "rotten-egg": "a smell of rotten eggs",
    "soggy": "a handful that ran",
    "flies": "many flies",
}


def noticed(state: Condition) -> str | None:
    """The gravest thing seen or smelled in the last days, as a complaint; None if nothing was.

    Parameters
    ----------
    state : Condition
        The bin [-].

    Returns
    -------
    str or None
    """
    looks = state.looks
    if looks.rodents not in (None, "none"):
        return "rats or mice"
    if looks.bulge:
        return "bulging"
    if looks.fault == "drain":
        return "leaking"
    if looks.smell in FOUL:
        return looks.smell
    if looks.squeeze == "trickle":
        return "soggy"
    return "flies" if looks.flies == "many" else None


def noticed_trouble(state: Condition) -> Trouble | None:
    """The one check for what was noticed.

    Parameters
    ----------
    state : Condition
        The bin [-].

    Returns
    -------
    Trouble or None
        None if nothing was noticed of late.
    """
    complaint = noticed(state)
    if complaint is None:
        return None
    ranked: Ranked = ranked_causes(complaint, clues_of(state))
    first = ranked.likely[0]
    caution = (ranked.caution,) if ranked.caution else ()
    return Trouble(
        Action(
            f"check {complaint}",
            f"{ranked.check}. {ranked.then}.",
            f"You wrote of {TOLD[complaint]}. Likeliest, {100.0 * first.share:.0f} in 100: "
            f"{first.cause.words[0].lower()}{first.cause.words[1:]}.",
            {},
            look_days(f"check {complaint}"),
            {},
            Expectation("airy") if complaint in (*FOUL, "soggy") else Expectation(),
            cautions=caution,
            rests_on="look",
            rule_names=("looked_days", "look_check"),
        ),
        1.0,
        share("chance"),
    )
