"""Run every published check and write benchmarks/results/published_checks.json with its commit."""

import dataclasses
import json
import math
import sys
from datetime import UTC, datetime
from pathlib import Path

from revision import commit

from slowfire.services.verify_model import verify_model

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / "benchmarks" / "results" / "published_checks.json"


def plain(value: object) -> object:
    """Values for JSON: figures of five digits, 'never' for what is infinite."""
    if isinstance(value, float):
        return float(f"{value:.5g}") if math.isfinite(value) else "never"
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    return value


def main(members: int) -> None:
    result = verify_model(members=members, progress=lambda share: print(f"{share:.0%}", flush=True))
    told = {
        "commit": commit(),
        "measured": datetime.now(UTC).isoformat(timespec="seconds"),
        **dataclasses.asdict(result),
    }
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(plain(told), indent=1) + "\n", encoding="utf-8")
    for name in ("in_calibration", "held_out"):
        print(f"{name}: {told[name]['passed']} of {told[name]['rows']}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
