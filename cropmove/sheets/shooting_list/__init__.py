"""The shooting list: what to set for each still, as rows, as CSV and JSON, and on paper.

On paper a row is a press of the shutter; in the data there is one for each delivered frame.
"""
