"""A drawn practice lawn with known cover, for the demo, the tests and the benchmarks."""
