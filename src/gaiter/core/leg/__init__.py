"""From tape measurements to a surface with curvature."""
