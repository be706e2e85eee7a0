"""Planning backwards: from the finished knife to the first stack."""

from billet.plan.candidate import Candidate
from billet.plan.measured import Reach, reach
from billet.plan.plan_json import as_json
from billet.plan.planner import Plan, plan
from billet.plan.sequences import Space

__all__ = ["Candidate", "Plan", "Reach", "Space", "as_json", "plan", "reach"]
