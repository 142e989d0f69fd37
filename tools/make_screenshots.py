"""Draw the output of the two commands of `make run` as pictures for the docs (SVG)."""

import subprocess
import sys
from html import escape
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "pictures"
COMMANDS = {
    "replay": ["replay", "examples/courtyard", "--bin", "Timber bin", "--at", "2026-02-01"],
    "mix": ["mix", "food waste=1 caddy", "--with", "paper,bark", "--loose"],
}
CHARACTER = 8.4  # width of a letter at 14 px in a monospaced face [px]
LINE = 19


def picture(command: str, text: str) -> str:
    lines = [f"$ {command}", "", *text.rstrip().splitlines()]
    width = int(max(len(line) for line in lines) * CHARACTER) + 40
    height = LINE * len(lines) + 40
    rows = "\n".join(
        f'<text x="20" y="{30 + LINE * k}" xml:space="preserve">{escape(line)}</text>'
        for k, line in enumerate(lines)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" font-family="monospace" font-size="14" '
        f'fill="#1d1d1b">\n<rect width="100%" height="100%" fill="#fbfaf7"/>\n{rows}\n</svg>\n'
    )


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, words in COMMANDS.items():
        done = subprocess.run(
            [sys.executable, "-m", "slowfire", *words],
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=True,
        )
        shown = " ".join(f'"{word}"' if " " in word else word for word in words)
        target = FOLDER / f"{name}.svg"
        target.write_text(picture(f"slowfire {shown}", done.stdout), encoding="utf-8")
        print(target.relative_to(ROOT))


if __name__ == "__main__":
    main()
