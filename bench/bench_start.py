"""Wall time of whole commands, process start included, beside a bare interpreter in the same run.

Prints medians and ratios; asserts nothing. Aims: `bankwright plan` of the demo bank under 0.7 s, `--help` under
0.25 s, on two cores with a warm cache.
"""

import statistics
import subprocess
import sys
import time
from pathlib import Path

DEMO = str(Path(__file__).parents[1] / "demo" / "barn.toml")
ROUNDS = 7


def median(*args: str) -> float:
    times = []
    for _ in range(ROUNDS + 1):
        start = time.perf_counter()
        subprocess.run([sys.executable, *args], capture_output=True, check=False)
        times.append(time.perf_counter() - start)
    return statistics.median(times[1:])


def main() -> None:
    bare = median("-c", "pass")
    print(f"{'bare interpreter':<34}{bare * 1e3:8.0f} ms")
    rows = {
        "numpy and pydantic imported": ("-c", "import numpy, pydantic"),
        "bankwright --help": ("-m", "bankwright", "--help"),
        "bankwright plan demo": ("-m", "bankwright", "plan", DEMO),
        "bankwright plan demo --case": ("-m", "bankwright", "plan", DEMO, "--case", "full discharge"),
        "bankwright buy demo": ("-m", "bankwright", "buy", DEMO),
        "bankwright build demo --show list": ("-m", "bankwright", "build", DEMO, "--show", "list"),
    }
    for name, args in rows.items():
        took = median(*args)
        print(f"{name:<34}{took * 1e3:8.0f} ms   {took / bare:6.1f} times the bare interpreter")


if __name__ == "__main__":
    main()
