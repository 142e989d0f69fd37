"""The mix command as a user meets it: output, JSON, refusals, exit codes, import weight."""

import json
import subprocess
import sys

import pytest

LOAD = ["mix", "food=1 caddy"]
ROW_KEYS = {"feedstock", "measure", "amount", "litres", "kilograms"}
BLEND_KEYS = {"moisture_percent", "c_to_n", "free_air_space_percent", "bulk_density_kg_per_m3"}


@pytest.fixture(name="run")
def run_command(slowfire):
    return slowfire


def test_fine_as_you_do_it(run):
    code, out, err = run(*LOAD, "paper=0.5 caddy", "chips=0.2 caddy", "--with", "paper", "--loose")
    assert (code, err) == (0, "")
    assert out.splitlines()[0] == "Fine as you do it."
    assert "Add\n" not in out


def test_add_is_said_in_kitchen_words_and_weights(run):
    code, out, _ = run(*LOAD, "--with", "paper,chips", "--loose")
    assert code == 0
    assert out.startswith("Add half a caddy of shredded office paper, loose, and a quarter")
    assert "112 g  half a caddy of shredded office paper, loose" in out
    for heading in ("Load", "Add", "Why", "Mind", "Assumed"):
        assert f"\n{heading}\n" in out
    assert "as it is" in out
    assert "as advised" in out


@pytest.mark.parametrize(
    ("arguments", "verdict", "first"),
    [
        (["food=1 caddy", "card=0.75 caddy loose"], "fine", "Fine as you do it."),
        (["peelings=1 caddy", "--with", "chips"], "add", "Add "),
        (["cucumber=1 caddy", "--with", "paper loose"], "hold_back", "Hold half back."),
        (["grass=1 mower box", "--with", "leaves", "--loose"], "hold_back", "Hold 70 % back"),
        (["peelings=1 caddy"], "none_at_hand", "Nothing dry at hand"),
        (["leaves=1 bag", "--loose"], "add", "Wet it with"),
    ],
)
def test_verdicts(run, arguments, verdict, first):
    code, out, err = run("mix", *arguments)
    assert (code, err) == (0, "")
    assert out.startswith(first)
    _, as_json, _ = run("mix", *arguments, "--json")
    assert json.loads(as_json)["verdict"] == verdict


@pytest.mark.parametrize(
    "arguments",
    [
        ["food=1 caddy", "--with", "paper,chips", "--loose"],
        ["cucumber=1 caddy", "bread=200 g", "--with", "paper loose,bark"],
        ["grass=1 barrow", "--with", "leaves", "--dense"],
        ["peelings=1 caddy"],
    ],
)
def test_text_fits_a_phone(run, arguments):
    _, out, _ = run("mix", *arguments)
    assert max(len(line) for line in out.splitlines()) <= 72


def test_json_has_the_documented_keys(run):
    code, out, err = run(*LOAD, "--with", "paper,chips", "--loose", "--json")
    assert (code, err) == (0, "")
    result = json.loads(out)
    assert {"load", "add", "blend", "verdict", "why", "before", "hold_back", "answers"} <= set(
        result
    )
    assert {"assumptions", "cautions"} <= set(result)
    for row in (*result["load"], *result["add"]):
        assert set(row) == ROW_KEYS
    assert set(result["blend"]) == set(result["before"]) == BLEND_KEYS
    assert result["verdict"] in ("fine", "add", "hold_back", "none_at_hand")
    assert all(isinstance(sentence, str) and sentence for sentence in result["why"])
    assert result["load"][0] == {
        "feedstock": "food_waste_household_mixed",
        "measure": "caddy",
        "amount": 1.0,
        "litres": 5.0,
        "kilograms": 2.125,
    }


def test_json_sums_add_up(run):
    result = json.loads(run(*LOAD, "--with", "paper,chips", "--loose", "--json")[1])
    rows = [*result["load"], *result["add"]]
    water = {"food_waste_household_mixed": 0.75, "office_paper_shredded": 0.06}
    water["prunings_chipped_woody"] = 0.45
    mass = sum(row["kilograms"] for row in rows)
    wet = sum(row["kilograms"] * water[row["feedstock"]] for row in rows)
    assert result["blend"]["moisture_percent"] == pytest.approx(100.0 * wet / mass, abs=1e-3)
    for row in result["add"]:
        assert row["litres"] == pytest.approx(5.0 * row["amount"])
        assert (4.0 * row["amount"]) % 1.0 == 0.0


def test_json_never_holds_nan(run):
    out = run("mix", "wood ash=100 g", "--json")[1]
    result = json.loads(out, parse_constant=lambda text: pytest.fail(f"{text} in JSON"))
    assert result["before"]["c_to_n"] is None


def test_both_answers_are_shown(run):
    for extra in ([], ["--moisture", "60", "--c-to-n", "30"]):
        _, out, _ = run("mix", "grass=10 kg", "--with", "leaves", "--loose", *extra)
        flat = " ".join(out.split())
        assert "the two pull apart" in flat
        assert "60 % water would take 9.09 kg" in flat
        assert "a C:N of 30 would take 7.34 kg" in flat


def test_asked_for_water_is_met_exactly(run):
    arguments = ["mix", "grass=10 kg", "--with", "leaves", "--loose", "--moisture", "65", "--json"]
    result = json.loads(run(*arguments)[1])
    assert result["blend"]["moisture_percent"] == pytest.approx(65.0, abs=1e-5)
    assert result["add"][0]["measure"] == "kilogram"


def test_asked_for_c_to_n_is_met_exactly(run):
    result = json.loads(run(*LOAD, "--with", "paper", "--loose", "--c-to-n", "25", "--json")[1])
    assert result["blend"]["c_to_n"] == pytest.approx(25.0, abs=1e-5)


def test_two_materials_meet_water_and_c_to_n(run):
    arguments = ["--with", "hay,chips", "--loose", "--moisture", "60", "--c-to-n", "28", "--json"]
    result = json.loads(run(*LOAD, *arguments)[1])
    assert len(result["add"]) == 2
    assert result["blend"]["moisture_percent"] == pytest.approx(60.0, abs=1e-5)
    assert result["blend"]["c_to_n"] == pytest.approx(28.0, abs=1e-5)


def test_water_reaches_a_wetter_target_if_offered(run):
    arguments = ["mix", "straw=1 kg", "--loose", "--moisture", "60", "--json"]
    result = json.loads(run(*arguments)[1])
    assert result["add"][0]["feedstock"] == "water"
    # 1 kg at 10.5 % to 60 %: (0.6 - 0.105) / (1 - 0.6) = 1.2375 kg
    assert result["add"][0]["kilograms"] == pytest.approx(1.2375, abs=1e-5)


def test_water_in_the_load_counts(run):
    dry = json.loads(run("mix", "straw=1 kg", "--loose", "--json")[1])
    wetted = json.loads(run("mix", "straw=1 kg", "water=1 L", "--loose", "--json")[1])
    assert dry["before"]["moisture_percent"] == pytest.approx(10.5, abs=1e-5)
    assert wetted["before"]["moisture_percent"] == pytest.approx(100 * 1.105 / 2.0, abs=1e-4)


def test_stock_limits_what_is_advised(run):
    arguments = ["mix", "peelings=2 caddies", "--with", "paper=1 caddy loose,chips", "--json"]
    result = json.loads(run(*arguments)[1])
    paper = [row for row in result["add"] if row["feedstock"] == "office_paper_shredded"]
    assert sum(row["litres"] for row in paper) <= 5.0


def test_packing_may_differ_by_item(run):
    out = run("mix", "paper=1 caddy dense", "card=1 caddy loose", "food=2 caddies", "--json")[1]
    paper, card, _ = json.loads(out)["load"]
    assert paper["kilograms"] == pytest.approx(0.45)
    assert card["kilograms"] == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "Say what to do"),
        (["mix"], "Name what goes in"),
        (["mix", "peelings"], "ITEM=AMOUNT"),
        (["mix", "=1 caddy"], "ITEM=AMOUNT"),
        (["mix", "peelings="], "ITEM=AMOUNT"),
        (["mix", "peelings=1"], "has no measure"),
        (["mix", "peelings=-1 kg"], "allowed is above 0"),
        (["mix", "peelings=0 kg"], "allowed is above 0"),
        (["mix", "peelings=nan kg"], "allowed is above 0"),
        (["mix", "peelings=inf kg"], "allowed is above 0"),
        (["mix", "peelings=1e9 caddy"], "allowed is above 0"),
        (["mix", "peelings=1 gallon"], "US gallon (3.79 L) or imperial gallon (4.55 L)"),
        (["mix", "peelings=1 cady"], "Did you mean caddy"),
        (["mix", "pealings=1 caddy"], "Did you mean fruit_veg_peelings_mixed"),
        (["mix", "water=1 L"], "Water alone"),
        ([*LOAD, "--with", "qwerty"], "No material is called 'qwerty'"),
        ([*LOAD, "--with", "chips,chips"], "twice"),
        ([*LOAD, "paper=1 caddy"], "loose or dense"),
        ([*LOAD, "--with", "paper"], "loose or dense"),
        ([*LOAD, "--loose", "--dense"], "not both"),
        ([*LOAD, "--moisture", "nan"], "allowed is 5 to 95"),
        ([*LOAD, "--moisture", "-5"], "allowed is 5 to 95"),
        ([*LOAD, "--moisture", "wet"], "--moisture"),
        ([*LOAD, "--c-to-n", "2"], "impossible for food"),
        ([*LOAD, "--c-to-n", "inf"], "allowed is 8 to 200"),
        ([*LOAD, "--moisture", "90", "--with", "chips"], "out of reach"),
        ([*LOAD, "--c-to-n", "30"], "Name what could be added"),
        ([*LOAD, "--bin", "Drum"], "--into JOURNAL and --bin NAME"),
        ([*LOAD, "--at", "2026-03-12"], "--at needs"),
        ([*LOAD, "--into", "/no/such/folder", "--bin", "Drum"], "/no/such/folder"),
        ([*LOAD, "--colour"], "--colour"),
        (["compost"], "compost"),
        (["replay"], "JOURNAL"),
        (["feedstocks", "qwerty"], "No material is called 'qwerty'"),
        ([*LOAD, "paper=1 caddy", "--json"], "loose or dense"),
    ],
)
def test_bad_input_ends_with_two_and_one_line(run, arguments, said):
    code, out, err = run(*arguments)
    assert code == 2
    assert out == ""
    assert said in err
    assert err.endswith("\n")
    assert len(err.splitlines()) == 1
    assert "Traceback" not in err


def test_version_and_help(run):
    code, out, _ = run("--version")
    assert code == 0
    assert out.startswith("slowfire ")
    code, out, _ = run("--help")
    assert code == 0
    for command in ("mix", "feedstocks", "replay"):
        assert command in out


@pytest.mark.parametrize("command", ["mix", "feedstocks", "replay"])
def test_every_command_has_help(run, command):
    code, out, _ = run(command, "--help")
    assert code == 0
    assert "--json" in out


def test_mixing_loads_nothing_heavy():
    script = (
        "import sys\n"
        "from slowfire import cli\n"
        "sys.argv = ['slowfire', 'mix', 'food=1 caddy', '--with', 'paper,chips', '--loose']\n"
        "try:\n"
        "    cli.main()\n"
        "except SystemExit as end:\n"
        "    assert end.code == 0\n"
        "heavy = {'numba', 'scipy', 'sqlalchemy', 'fastapi', 'pandas', 'rich'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Add half a caddy")


def test_module_does_what_the_command_does():
    command = [sys.executable, "-m", "slowfire", "mix", "peelings=1 gallon"]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
