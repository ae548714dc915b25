# What happens at the car: what a hand could not do, what the driver tells, what tools read, limits of the model.

## Why the bench does not let a hand do something now.

hindered-key-on = key off first
hindered-engine-turns = stop the engine first
hindered-moving = the car is moving
hindered-rolling = the car is rolling: bring it to a stand first
hindered-not-running = the engine does not run: start it first
hindered-no-time = a drive takes more than no time
hindered-clamp-off = the battery clamp is off: no road is fit for that
hindered-clamp-on = take the battery clamp off first
hindered-on-rollers = the car stands on rollers
hindered-no-air-meter = this car has no air meter
hindered-no-bank = this engine has { $of ->
    [one] { $of } bank
   *[other] { $of } banks
}, no bank { $bank }
hindered-one-bank = this engine has one bank only
hindered-no-code-printed = no code is printed on this injector
hindered-no-module = no module fits: { $because }
hindered-too-many-watched = no more than { $most } values can be watched
hindered-no-value = the module has no value `{ $name }`
hindered-at-work = the { $instrument } is still at work
hindered-gauge-not-fitted = the gauge is not on its port yet: fit it with the engine stopped
hindered-gauge-elsewhere = the gauge is not on this bank's port: fit it with the engine stopped
hindered-probe-elsewhere = the probe is not on this bank's port: fit it with the engine stopped
hindered-throttle-powered = key off first: the throttle plate must have no power
hindered-no-exhaust-gas = the engine does not turn: there is no exhaust gas
hindered-edges-only = this wire carries edges, not a voltage to read
hindered-no-supply = key on first: the sensors have no supply
hindered-pulses-too-short = pulses are too short for a voltmeter: take the scope
hindered-plug-must-come-out = stop the engine first: a plug must come out
hindered-would-start = unplug every coil and every injector first: the engine would start, and that is no compression test
hindered-nothing-wired = nothing is wired in there
hindered-loads-falsify = key off first: loads would falsify it
hindered-mat-holds-acid = a mat holds this battery's acid: there is none to draw up

## What the driver tells.

driver-over = the drive is over: standing, in neutral, engine running
driver-another-hand = the drive ended: another hand took over
driver-stalled = the engine stalled; it is started again
driver-no-start = the drive ended: the engine would not start
driver-no-stand = the drive ended: the car did not come to a stand in time
driver-rest-over = the rest is over
driver-rest-touched = the rest ended: a hand touched the car
driver-stranded = day { $day }: { $because }; the car stands from here on
stranded-no-start = the engine would not start
stranded-given-up = the drive had to be given up
driven-on-whole = driven on to the end
driven-on-stranded = driving on is over; the car had to be left standing
driven-on-touched = driving on ended: a hand touched the car
driver-driven-on = { $how }: { $days } days, { $driven } of them driven, { $full } at full physics, the engine ran { $hours } h
driver-driven-on-carried = { driver-driven-on }; on the others battery and charging were lived through, the film in the throttle, plugs, injectors, air meter and catalysts carried on as the days in full wore them, nothing was learned and no trip counted

## Where a model reached its limits.

model-drive-no-start = a drive ended early: the engine stalled and three starts failed
model-drive-no-stand = a drive ended late: the driver could not bring the car to a stand
model-not-started = conditioning: the engine did not start
model-pieces-too-short = conditioning: pieces of { $seconds } s are too short to drive a pattern; take more minutes and less wear
model-not-driven = conditioning: { $pattern } could not be driven: { $because }
model-hold-stalled = conditioning: the engine stalled in a steady hold
model-would-not-idle = conditioning: the engine would not idle
model-still-moving = conditioning: learned values still moved { $rate } g/s a minute after 15 min

## What came of an act that was not simply done.

told-hindered = Cannot be done: { $because }
told-refused = The module refused: { $because }
told-silent = The module does not answer: asleep or without power
told-no-mark = there is no such mark

## Why there is nothing to survey.

no-survey-not-started = the engine did not start
no-survey-no-end = the routine did not come to an end
no-survey-not-held = nothing could be held at { $rpm } rpm

## What goes on without a hand at the car

alone-locked = it stands locked
alone-stands = it stands
alone-stranded = it could not be started and stands
alone-started = it is started
alone-driven = it is driven
alone-carried = a day goes by: the battery lives through it, and wear is carried on
alone-day = day { $day } of { $of }: { $doing }
