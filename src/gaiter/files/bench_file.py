"""Reads a bench test, ``gaiter.bench/1``, and writes the stock entry that it gives."""

from pathlib import Path

from gaiter.core.fabric.bench_test import BenchResult, BenchTest
from gaiter.files.document_file import read_document


def read_bench(path: Path) -> BenchTest:
    """The bench test in a TOML or JSON file; :class:`FileError` tells every problem in words."""
    return read_document(path, BenchTest)


def stock_entry(test: BenchTest, result: BenchResult) -> str:
    """TOML for the case's stock: the roll's own curve in place of its class."""
    curve = result.curve
    return (
        f"[stock.{test.material}]\n"
        f"rolls = 1\n"
        f"widths_cm = [{test.width_cm:g}]\n"
        f"curve = {{ usual_stretch = {curve.usual_stretch:.4f}, usual_tension_n_per_cm = "
        f"{curve.usual_tension_n_per_cm:.4f}, locking_stretch = {curve.locking_stretch:.4f}, "
        f"hysteresis = {curve.hysteresis:.3f} }}"
    )
