"""The places of the page: Today, Photos, Zones, Next leveling, Settings and Share."""
