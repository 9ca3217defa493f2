"""What was applied: readings, the pressure they tell of, and what hands and sensors teach."""
