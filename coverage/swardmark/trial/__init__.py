"""Trial plots: treatment means, analysis of variance, area under the recovery curve and days to recover."""
