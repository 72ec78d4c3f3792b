"""The fold of a finding leads to every number behind it, place by place."""

from __future__ import annotations

import html
import re
from pathlib import Path

from support.page import bank_file, client


def test_the_fold_of_a_finding_leads_to_the_numbers_solved_for_a_place(tmp_path: Path) -> None:
    with client(bank_file(tmp_path, "five")) as page:
        text = page.request("GET", "/plan").text
        links = [html.unescape(each) for each in re.findall(r'href="(/plan/trace\?[^"]+)"', text)]
        assert links
        shown = [page.request("GET", link) for link in links[:12]]
        assert {each.status_code for each in shown} == {200}
        solved = [each.text for each in shown if "Solved: " in each.text]
        assert solved
        assert "Kirchhoff" in solved[0]
        assert "mΩ × " in solved[0]


def test_a_place_that_the_check_does_not_speak_of_is_refused(tmp_path: Path) -> None:
    with client(bank_file(tmp_path, "five")) as page:
        shown = page.request("GET", "/plan/trace?check=P-CABLE-2&at=nowhere")
        assert shown.status_code in (404, 422)
        assert "nowhere" in shown.text
