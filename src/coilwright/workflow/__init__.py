"""The use cases, one in each module: receive and measure, plan, report.

Nothing is gathered here: measuring a run would wait for everything that planning needs.
"""
