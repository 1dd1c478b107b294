"""What slope checks share of the ground as it is: water, loads, support, cracks, shaking.

Input fields stand in small records that the inputs of a check inherit (``...Inputs``), so that
each field is declared once; a record holds no memory of its own and is not made alone. The
functions beside them are plain numpy: x runs from the toe into the slope, y upward.
"""
