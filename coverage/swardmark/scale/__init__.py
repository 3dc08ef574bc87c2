"""Many machines: a cluster, parcels, photos behind a URL."""
