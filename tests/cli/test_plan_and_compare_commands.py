"""`bankwright plan` and `compare` as a user types them: exit codes, what is printed, nothing beyond 80 columns."""

import json
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.forms.codes import place_text
from bankwright.plan.checks import CHECKS
from support.banks import bank_text, only

DEMO = Path(__file__).parents[2] / "demo" / "barn.toml"
TWO = Path(__file__).parents[1] / "support" / "banks" / "two.toml"
SHORT = bank_text(
    2,
    only("cells", "capacity", "discharge.continuous", "charge.continuous", mass="45 kg"),
    kind="R100",
    head={"rules": "nec-2023"},
    box="six",
    inverter={"power": "6 kW"},
    wiring={"pattern": "chain", "feed": "same end"},
)


@pytest.fixture
def run(capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "short.toml").write_text(SHORT, "utf-8")

    def typed(*words):
        with pytest.raises(SystemExit) as ended:
            main([str(word) for word in words])
        printed = capsys.readouterr()
        return ended.value.code or 0, printed.out, printed.err

    return typed


def widest(text):
    return max((len(line) for line in text.splitlines()), default=0)


@pytest.mark.slow
@pytest.mark.parametrize("words", [(), ("--all",), ("--case", "full charge"), ("--case", "list")])
@pytest.mark.parametrize("bank", [DEMO, TWO, "short.toml"])
def test_nothing_is_wider_than_80_columns(run, bank, words):
    code, out, err = run("plan", bank, *words)
    assert max(widest(out), widest(err)) <= 80
    if words == ("--case", "full charge") and bank != DEMO:
        assert code == 2
        assert 'there is no case "full charge"' in err  # nothing charges these banks
    else:
        assert code == (0 if "--case" in words else 1)


@pytest.mark.slow
@pytest.mark.parametrize("code", [check.code for check in CHECKS])
def test_every_check_is_explained_with_source_and_inside_80_columns(run, code):
    _, out, _ = run("plan", DEMO, "--explain", code.lower())
    assert widest(out) <= 80
    assert out.startswith(f"{place_text(code)}  ")
    assert f"({code})" in " ".join(out.split())
    assert "Why: " in out
    found = out.count("\n-- ")
    assert out.count("\nsource   ") == found
    assert found or "found nothing to speak of" in out


@pytest.mark.slow
def test_an_explanation_leads_every_number_back_to_a_line_of_the_file(run):
    _, out, _ = run("plan", DEMO, "--explain", "P-CABLE-2")
    assert "formula  Ib <= Iz" in out
    assert "barn.toml:" in out
    assert "Table 310.16" in out
    _, text, _ = run("plan", DEMO, "--explain", "P-CABLE-2", "--json")
    assert json.loads(text)["findings"][0]["inputs"]


def test_json_is_one_valid_document_with_stable_keys(run):
    code, out, _ = run("plan", DEMO, "--json")
    made = json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} in JSON"))
    assert code == 1
    assert made["format"] == "bankwright.findings/2"
    keys = {"format", "bank", "bank_digest", "rules", "count", "findings"}
    assert keys | {"questions", "measurements", "decisions", "not_checked"} <= set(made)
    assert sum(made["count"].values()) == len(made["findings"])
    assert {"code", "verdict", "margin", "at", "figure", "limits", "source", "inputs"} <= set(made["findings"][0])


@pytest.mark.slow
def test_exit_codes(run):
    assert run("plan", DEMO)[0] == 1
    passing = SHORT.replace('power = "6 kW"', 'power = "1 kW"').replace("[[inverters]]", "", 1)
    assert passing != SHORT
    Path("one.toml").write_text(SHORT.split("[[modules]]")[0] + '[[modules]]\nname = "M1"\nkind = "R100"\n', "utf-8")
    with Path("one.toml").open("a", encoding="utf-8") as file:
        file.write('[wiring]\npattern = "chain"\nfeed = "same end"\n[[inverters]]\nname = "I1"\nkind = "six"\n')
    _, out, _ = run("plan", "one.toml", "--json")
    assert json.loads(out)["count"]["unknown"] > 0
    plain, strict = run("plan", "one.toml")[0], run("plan", "one.toml", "--strict")[0]
    assert strict == 1
    assert plain == (1 if json.loads(out)["count"]["fail"] else 0)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "there is no such file"),
        (b"", '"format" is missing'),
        (bytes(range(128, 256)), "no UTF-8"),
        (b"format = 1\n[kinds.module.A]\ncels = 16\n", 'Did you mean "cells"?'),
        (b"#" * 1_000_001, "at most 1000000"),
        (b"format = = 1\n", "odd.toml:1"),
    ],
)
def test_a_wrong_file_is_refused_in_words(run, content, said):
    if content is not None:
        Path("odd.toml").write_bytes(content)
    code, out, err = run("plan", "odd.toml")
    assert code == 2
    assert out == ""
    assert said in " ".join(err.split())
    assert "Nothing was computed." in err
    assert widest(err) <= 80
    assert "—" not in err


def test_a_folder_is_no_bank_file(run):
    code, _, err = run("plan", ".")
    assert code == 2
    assert "it is a folder" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("plan",), "Missing argument"),
        (("plan", DEMO, "--nope"), "--nope"),
        (("plan", DEMO, "--explain", "P-SHARE-99"), "Did you mean P-SHARE-"),
        (("plan", DEMO, "--explain", "oranges"), "Places run from Plan 1.1 (P-SHARE-1)"),
        (("plan", DEMO, "--case", "ful charge"), "full charge"),
        (("plan", DEMO, "--put-in"), "--suggest"),
        (("pln",), 'Did you mean "plan"?'),
        (("compare", DEMO), "KEY=VALUE"),
        (("compare", DEMO, "nofile.toml"), "KEY=VALUE"),
        (("compare", DEMO, "wiring.fed=x"), "unknown key"),
        (("compare", DEMO, "wiring.link.lenght=1 m"), 'Did you mean "length"?'),
        (("compare", DEMO, "modules[9].slot=3"), "modules[9]"),
        (("compare", DEMO, "a..b=3"), "a..b"),
        (("compare", DEMO, "site.extension=many"), "site.extension"),
    ],
)
def test_a_wrong_question_ends_with_2_and_says_what_would_be_right(run, words, said):
    code, _, err = run(*words)
    assert code == 2
    assert said in " ".join(err.split())
    assert "Traceback" not in err
    assert widest(err) <= 80


@pytest.mark.slow
def test_compare_prints_only_the_differences(run):
    code, out, _ = run("compare", DEMO, "site.extension=4")
    assert code == 0
    assert out.splitlines()[0].strip() == "site.extension: not given -> 4"
    assert "[Plan 7.2]" in out
    assert "[Plan 4.1]" not in out
    assert widest(out) <= 80
    _, same, _ = run("compare", DEMO, DEMO)
    assert same.splitlines()[-1] == "The findings are the same."
    _, text, _ = run("compare", DEMO, "site.extension=4", "--json")
    assert json.loads(text)["format"] == "bankwright.differences/2"


def test_the_short_file_gives_one_page_of_use(run):
    code, out, _ = run("plan", "short.toml")
    assert code == 1  # nothing guards its links
    assert len(out.splitlines()) <= 90
    assert out.count("This could not be checked") == 0
    assert "-- the 10 answers that settle most" in out
    every = run("plan", "short.toml", "--all")[1]
    assert "or larger for I1+lead." in every
    lists = every.split("-- questions to the makers")[1]
    assert lists.index("-- measurements to take") < lists.index("-- not checked")


@pytest.mark.slow
def test_a_worst_place_that_moved_says_how_the_old_one_stands_now(run):
    _, out, _ = run("compare", DEMO, "wiring.main.cable=350 kcmil")
    guarded = out[out.index("A device guards its conductor") :].split("\nA ")[0]
    assert "at I1+lead" in guarded
    assert "there" in guarded
    assert "350 A: 50.0 A left (14 %)  at main+" in " ".join(guarded.split()).replace(" at", "  at")
