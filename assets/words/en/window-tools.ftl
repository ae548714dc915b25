# The window: hands, bay tools, shelf, service tester, faults, parts.
