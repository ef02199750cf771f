"""The report: one self-contained page for the screen.

``facts.py`` says what the page says, as plain objects; ``write.py`` lays it out with the files in
``templates/``; ``picture.py`` draws its plans.
"""
