# Paper: debrief, job card, twin page, tables.
