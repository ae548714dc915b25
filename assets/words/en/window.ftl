# The window: job card, time, module, traces, wheel, settings, sheets.
