"""What the server holds after many edits."""

import shutil
import sys
from pathlib import Path

import httpx
import pytest

from support.page import served

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
MOST = 300  # MB
pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")


def resident(pid):
    """Resident memory of a process. [MB]"""
    lines = Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024


def after_edits(tmp_path, count):
    """Memory while and after so many edits, each followed by what a browser asks for."""
    path = shutil.copy(BARN, tmp_path / "barn.toml")
    seen = []
    with served(path) as (base, process), httpx.Client(base_url=base, timeout=60, trust_env=False) as web:
        digest = web.get("/api/bank").json()["digest"]
        for number in range(count):
            body = {"path": "title", "value": f"edit {number}", "digest": digest}
            body |= {"path": "site.extension", "value": number % 4} if number % 3 == 0 else {}
            answer = web.patch("/api/bank", json=body, headers={"origin": base})
            assert answer.status_code == 200, answer.text
            digest = web.get("/api/bank").json()["digest"]
            if number % 4 == 0:
                assert web.get("/plan", headers={"accept": "text/html"}).status_code == 200
            seen.append(resident(process.pid))
    return seen


@pytest.mark.slow
def test_five_edits_hold_little(tmp_path):
    assert max(after_edits(tmp_path, 5)) < MOST


@pytest.mark.soak
def test_five_hundred_edits_hold_under_300_mb(tmp_path):
    """The server's resident memory over 500 edits with their pages stays under 300 MB."""
    seen = after_edits(tmp_path, 500)
    print(f"largest {max(seen):.0f} MB, at the end {seen[-1]:.0f} MB")
    assert max(seen) < MOST
