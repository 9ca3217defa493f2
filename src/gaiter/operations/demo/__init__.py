"""The invented demo clinic at Heron Ford: nobody in it exists."""
