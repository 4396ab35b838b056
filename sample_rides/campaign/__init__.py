"""Made-up campaigns: one road ridden again and again under two settings of regen, and what the settings differ by."""

from sample_rides.campaign.folders import write_campaign, write_sample_campaign
from sample_rides.campaign.plan import CampaignPlan

__all__ = ["CampaignPlan", "write_campaign", "write_sample_campaign"]
