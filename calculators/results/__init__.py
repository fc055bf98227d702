"""What every calculator returns: the parts of a result, and the canvas of its pictures.

Results know nothing of fields; `forms` lies above and names what a calculator returns.
"""
