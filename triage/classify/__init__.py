"""What each item is: features, model, calibration, training, evaluation, corrections."""

from triage.classify.classifier import Classifier, open_model, shipped
from triage.classify.judge import judge

__all__ = ["Classifier", "judge", "open_model", "shipped"]
