import json
import math
import subprocess
import sys
from pathlib import Path

SPEED = Path(__file__).with_name("speed.py")
LINES = {"singles": 1, "batches": 1, "judging": 1, "trend": 2, "rebuild": 2, "board": 4}


def test_the_speed_benchmark_gives_a_finite_ratio_on_every_line(tmp_path: Path) -> None:
    written = tmp_path / "ratios.json"
    printed = subprocess.run(
        [sys.executable, str(SPEED), "--quick", "--json", str(written)], capture_output=True, text=True, check=True
    ).stdout
    ratios = json.loads(written.read_text())
    assert {name: sum(one["name"] == name for one in ratios) for name in LINES} == LINES
    for one in ratios:
        assert one["measured"] in printed
        assert all(math.isfinite(one[figure]) and one[figure] > 0 for figure in ("value", "ceiling_value", "ratio"))
