"""Writes a made-up fleet: ``python -m sample_rides.fleet FOLDER``."""

import argparse
from pathlib import Path

from sample_rides.fleet import NO_FAULTS, USUAL_FAULTS, LogPlan, write_fleet, write_sample_fleet


def main(arguments: list[str] | None = None) -> None:
    """Write the fleet that the arguments ask for."""
    parser = argparse.ArgumentParser(prog="python -m sample_rides.fleet", description="Writes a made-up fleet.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sample", action="store_true", help="five bikes and 48 rides, two bikes going wrong")
    parser.add_argument("--bikes", type=int, default=60)
    parser.add_argument("--rides", type=int, default=2000, help="of all bikes together")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--faults", action="store_true", help="eleven bikes go wrong during the year")
    parser.add_argument("--hostile", type=float, default=0.0, help="share of rides of which one file is broken")
    asked = parser.parse_args(arguments)
    if asked.sample:
        told = write_sample_fleet(asked.folder)
    else:
        told = write_fleet(
            asked.folder,
            n_bikes=asked.bikes,
            rides_per_bike=asked.rides / asked.bikes,
            seed=asked.seed,
            faults=USUAL_FAULTS if asked.faults else NO_FAULTS,
            logs=LogPlan(hostile=asked.hostile),
        )
    print(f"{asked.folder}: {len(told['rides'])} rides, {len(told['faults'])} faults")


if __name__ == "__main__":
    main()
