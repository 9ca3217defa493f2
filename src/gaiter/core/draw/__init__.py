"""Drawings of leg, turns and pressure; one drawing for screen and paper."""
