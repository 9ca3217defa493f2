"""Many legs: a cohort, and what a study over it says."""
