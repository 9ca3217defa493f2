"""The bandaging sheet on paper and on screen."""
