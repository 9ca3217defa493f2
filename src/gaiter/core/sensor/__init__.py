"""Logs of a pressure sensor under a bandage: plateaus, stiffness, swing, drift, artefacts."""
