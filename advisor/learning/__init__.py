"""What past doughs teach: where the workable window lies and how much each powder drinks.

Every judged dough says on which side of the window it lay. Its wetting index, the powders in it and that
verdict are the evidence of an ordinal regression with logistic errors, held by a normal prior.

    P(class <= k) = F((tau_k - eta) / s),    eta = ln W - c - sum over powders of share * delta

``c`` is the centre of the window on the scale of ln W (0 where the library is right), ``delta`` the logarithm
of a powder's true demand over the library's, F the logistic function. A key of ``shares`` need not be a
powder: whatever shifts the window alike and is partly pooled (a method, a lot beside its powder) enters as a
key with a share and a standard deviation of its own.

References
----------
P. McCullagh, Regression models for ordinal data, J. R. Statist. Soc. B 42 (1980) 109-142 (the model).
R. T. Birge, Phys. Rev. 40 (1932) 207-227 (a scatter above chance widens the interval by its square root).
"""

from advisor.learning.belief import Dough, Habit, LearningRules, Prior
from advisor.learning.chances import class_chances
from advisor.learning.fit import choose_spread, faded, learn, learn_more
from advisor.learning.habits import Habits, with_habits
from advisor.learning.posterior import Window

__all__ = [
    "Dough",
    "Habit",
    "Habits",
    "LearningRules",
    "Prior",
    "Window",
    "choose_spread",
    "class_chances",
    "faded",
    "learn",
    "learn_more",
    "with_habits",
]
