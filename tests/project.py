"""Where the project is, with its samples."""

from pathlib import Path

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "samples"
SAMPLE_BATCHES = sorted(SAMPLES.glob("*.yaml"))
