"""Three manuals of the demo kit as PDF, none like the others, to prove the reading of manuals.

``python -m demo.make --manuals`` writes them to demo/out/manuals, each with a JSON file that says
what was drawn where.  They are not part of the demo kit that the program carries.
"""
