"""What was really put on: logs of pressure sensors under the finished bandage."""
