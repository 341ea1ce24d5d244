"""Recipe files that the tests of the screens begin with."""

BROWN = """\
patina_recipe = 1
name = "Slipway brown"
finish = "even dark brown, satin"
alloys = ["C87300"]
provenance = "own tiles"
texture = 1.1
reserve = "25 %"
dead_volume = "250 mL"

[[solution]]
name = "sulphide wash"
solvent = "distilled water"
volume_is = "made up to"
use_within = "12 h"
[[solution.ingredient]]
substance = "liver of sulphur"
strength = "5 g/L"

[[step]]
do = "prepare"
note = "glass bead, degrease"
[[step]]
do = "apply"
solution = "sulphide wash"
method = "torch"
tool = "brush"
passes = 6
coverage = "40 mL/m2"
transfer = "50 %"
surface_temperature = ["80 degC", "95 degC"]
"""
GREEN = (
    BROWN.replace("Slipway brown", "Quay green")
    .replace("dark brown", "thin green")
    .replace("liver of sulphur", "cupric nitrate trihydrate")
)
