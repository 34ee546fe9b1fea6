"""Outside proof: the engine against values that do not come from this project.

Each check runs the engine on a scenario in the scenario language and holds a number against an exact value, a formula
or a table from the literature, or against what is common practice on the floor. `registry.py` lists them; `linesim
proof` carries them out and prints the table.
"""
