"""The forecast: plan, kit and readings to expected values. One module a stage of the work."""
