"""Write phantom runs: ``python -m coilwright.phantom --seed 1 --level still --out DIR``."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from coilwright.phantom.random_scene import random_scene
from coilwright.phantom.render import render
from coilwright.phantom.run_dicom import write_run
from coilwright.phantom.scene import Level
from coilwright.phantom.truth_json import truth_to_json


def main(arguments: Sequence[str] | None = None) -> None:
    """Render the asked-for scenes, one after the other."""
    parser = argparse.ArgumentParser(prog="coilwright.phantom", description=__doc__)
    parser.add_argument("--seed", type=int, required=True, help="of the first run")
    parser.add_argument("--level", type=Level, choices=list(Level), default=Level.STILL)
    parser.add_argument("--out", type=Path, required=True, help="folder for runs and truths")
    parser.add_argument("--count", type=int, default=1, help="how many runs, seeds in sequence")
    asked = parser.parse_args(arguments)
    asked.out.mkdir(parents=True, exist_ok=True)
    for seed in range(asked.seed, asked.seed + asked.count):
        rendered = render(random_scene(seed, asked.level))
        write_run(rendered, asked.out / f"run{seed}.dcm")
        truth_json = truth_to_json(rendered.truth)
        (asked.out / f"run{seed}.truth.json").write_text(truth_json, encoding="utf-8")
        print(f"{asked.out / f'run{seed}.dcm'}: {rendered.scene.name}")


if __name__ == "__main__":
    main()
