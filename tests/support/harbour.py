"""A shot that several tests draw, play and refuse."""

TEXT = """
[shot]
stills = "harbour/*.jpg"
on = 2
[delivery]
size = [320, 180]
[[key]]
frame = 1
centre = ["50%", "50%"]
width = "90%"
[[key]]
frame = 8
centre = ["45%", "55%"]
width = "60%"
"""
