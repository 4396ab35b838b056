"""Writes a made-up campaign: ``python -m sample_rides.campaign FOLDER``."""

import argparse
from pathlib import Path

from sample_rides.campaign import CampaignPlan, write_campaign, write_sample_campaign


def main(arguments: list[str] | None = None) -> None:
    """Write the campaign that the arguments ask for."""
    usual = CampaignPlan()
    parser = argparse.ArgumentParser(prog="python -m sample_rides.campaign", description="Writes a made-up campaign.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sample", action="store_true", help="the campaign of the sample rides")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--difference", type=float, default=usual.difference_pct, metavar="POINTS",
                        help="recovered share under strong regen less that under weak, ridden alike")  # fmt: skip
    parser.add_argument("--rides", type=int, default=usual.rides_per_setting, help="under each setting, an even number")
    parser.add_argument("--off", action="store_true", help="a third setting without regen")
    parser.add_argument("--speed-confounded", action="store_true", help="faster under strong regen")
    parser.add_argument("--two-loggers", action="store_true", help="another logger under weak regen")
    parser.add_argument("--side-by-side", action="store_true", help="every ride logged by another logger too")
    asked = parser.parse_args(arguments)
    if asked.sample:
        told = write_sample_campaign(asked.folder)
    else:
        plan = CampaignPlan(
            difference_pct=asked.difference,
            rides_per_setting=asked.rides,
            with_off=asked.off,
            speed_confounded=asked.speed_confounded,
            two_loggers=asked.two_loggers,
            side_by_side=asked.side_by_side,
        )
        told = write_campaign(asked.folder, plan, seed=asked.seed)
    print(f"{asked.folder}: {len(told['rides'])} rides under {len(told['regen_ratios'])} settings")


if __name__ == "__main__":
    main()
