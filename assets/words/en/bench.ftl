# What happens at the car: what a hand could not do, what the driver tells, what tools read, limits of the model.

## Why the bench does not let a hand do something now.

hindered-key-on = switch the key off first
hindered-engine-turns = stop the engine first
hindered-moving = the car is moving
hindered-rolling = the car is rolling: stop it first
hindered-not-running = the engine is not running: start it first
hindered-no-time = enter a driving time above zero
hindered-clamp-off = the battery is disconnected: reconnect it before driving
hindered-clamp-on = disconnect the battery first
hindered-on-rollers = the car is on rollers
hindered-no-air-meter = this car has no MAF sensor
hindered-no-vapour-system = this car has no EVAP leak test
hindered-no-phaser = this car has no camshaft phaser
hindered-no-egr-valve = this car has no EGR valve
hindered-no-bank = this engine has { $of ->
    [one] { $of } bank
   *[other] { $of } banks
}, no bank { $bank }
hindered-one-bank = this engine has one bank only
hindered-no-code-printed = no code is printed on this injector
hindered-no-module = no module fits: { $because }
hindered-too-many-watched = at most { $most } values can be watched
hindered-no-value = the module has no value `{ $name }`
hindered-at-work = the { $instrument } is still measuring
hindered-gauge-not-fitted = the gauge is not fitted yet: fit it with the engine stopped
hindered-gauge-elsewhere = the gauge is on the other bank: fit it to this one with the engine stopped
hindered-probe-elsewhere = the probe is on the other bank: fit it to this one with the engine stopped
hindered-throttle-powered = switch the key off first: the throttle plate could move
hindered-no-exhaust-gas = the engine is not turning: there is no exhaust gas
hindered-edges-only = this wire carries a digital signal: a voltmeter cannot read it
hindered-no-supply = switch the key on first: the sensors have no supply
hindered-pulses-too-short = the pulses are too short for a voltmeter: use the scope
hindered-plug-must-come-out = stop the engine first: a spark plug must come out
hindered-would-start = disconnect all coils and all injectors first: otherwise the engine would start
hindered-nothing-wired = no accessory is fitted
hindered-charger-connected = the battery charger is still connected: switch it off and remove it first
hindered-loads-falsify = switch the key off first: electrical loads would upset the reading
hindered-agm-holds-acid = this is an AGM battery: there is no free acid to measure

## What the driver tells.

driver-over = the drive is over: car stationary, in neutral, engine running
driver-another-hand = the drive ended: somebody else took the controls
driver-stalled = the engine stalled and was restarted
driver-no-start = the drive ended: the engine would not start
driver-no-stand = the drive ended: the car did not stop in time
driver-rest-over = the parking time is over
driver-rest-touched = the parking time ended early: somebody touched the car
driver-stranded = day { $day }: { $because }; the car stays parked from here on
stranded-no-start = the engine would not start
stranded-given-up = the drive had to be abandoned
driven-on-whole = all days driven
driven-on-stranded = daily driving ended early: the car had to be left standing
driven-on-touched = daily driving ended early: somebody touched the car
driver-driven-on = { $how }: { $days } days, { $driven } of them driven, { $full } simulated in full; engine running for { $hours } h
driver-driven-on-carried = { driver-driven-on }; the other days: battery and charging simulated, wear and deposits continued as on the full days, no learning and no trips counted

## Where a model reached its limits.

model-drive-no-start = a drive ended early: the engine stalled and three starts failed
model-drive-no-stand = a drive ended late: the driver could not stop the car
model-not-started = conditioning: the engine did not start
model-pieces-too-short = conditioning: drives of { $seconds } s are too short for a driving pattern; use more minutes and less wear
model-not-driven = conditioning: { $pattern } could not be driven: { $because }
model-hold-stalled = conditioning: the engine stalled at a held speed
model-would-not-idle = conditioning: the engine would not idle
model-still-moving = conditioning: learned values still moving by { $rate } per minute after 15 min

## What came of an act that was not simply done.

told-hindered = Not possible: { $because }.
told-refused = Refused: { $because }.
told-silent = No answer from the module: asleep or without power
told-no-mark = there is no such bookmark

## Why there is nothing to survey.

no-survey-not-started = the engine did not start
no-survey-no-end = the routine did not finish
no-survey-not-held = { $rpm } rpm could not be held

## What happens while nobody is at the car

alone-locked = the car is locked
alone-stands = the car is parked
alone-stranded = the car would not start and stays parked
alone-started = the driver starts the engine
alone-driven = the driver drives the car
alone-carried = a day passes: battery, wear and deposits are carried forward
alone-day = day { $day } of { $of }: { $doing }
