"""The whole life of a knife as one list of numbered stages: the bar's steps, then the blade's, to the sharp edge."""

from billet.stages.derive import stages
from billet.stages.stage import Kind, Stage
from billet.stages.stage_names import BLADE_VERBS, verb_of

__all__ = ["BLADE_VERBS", "Kind", "Stage", "stages", "verb_of"]
