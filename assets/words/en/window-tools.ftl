# The window: hands, workshop tools, shelf, scan tool, faults, parts.

## The middle and the sheets

middle-engine = Engine
middle-traces = Traces
middle-wheel = Reluctor
middle-cylinders = Cylinders
middle-key = key { $key }
middle-look = look at
middle-look-all = all
middle-look-cylinders = cylinders
middle-look-throttle = throttle
middle-look-wheel = reluctor
sheet-put-away = Close

## What is asked back

leave-lid = Show true values?
leave-lid-why = They show what the parts really are. The debrief records that you looked, even if you go back to a bookmark.
leave-lid-off = Show them
leave-lid-on = Keep them hidden
leave-close = Close the window?
leave-close-why = The car has not been handed over: your work and its logbook will be lost.
leave-close-hand-over = Hand over first…
leave-close-and-lose = Close and lose the work
leave-close-stay = Stay here

## The logbook

logbook-title = Logbook
logbook-empty = no entries yet

## A look round

guide-time = Let time run: press Space, or choose a speed at the bottom right. At “slow” you can watch a piston move.
guide-load = Switch on the A/C compressor: press C, or use its switch on the left. It takes power, so the idle needs more air: on the right, watch which bar of “Idle air” grows.
guide-learned = Press “Read learned values” on the right. Each value has a scale: its ends are the limits, the notch is the default, the dashed bar is the learned change. Above it you see whether the module can learn now, and if not, why.
guide-lid = Show the true values: press V. The scales now also show, in bold, what the parts really are. In a job, the logbook records this.
guide-wheel = Look at the reluctor wheel on the crankshaft: press F4. Dashed is where the module thinks the teeth are, bold is where they are.
guide-fork = Try two things at once: press F to split the run in two; both have the same car. Switch something on in the second run, then press F3: the traces show both runs and the difference.
guide-end = End of the tour. The first job is “Idles high since the throttle was cleaned”: press F6 and choose it. F7 shows a healthy car of the same model for comparison at any time.
guide-next = Next step
guide-stop = End the tour
guide-good = Done
guide-step = tour, { $at } of { $of }

## The first minute

first-title = Idlewright
first-what = An engine control module learns the parts it works with, and keeps using what it learned after a part has been changed. Here you read what the module has learned, measure what the engine does, and find out where the two differ.
first-lines = A dashed line is the module's value. A thin line is a measurement. A bold line is the true value; it is drawn only when true values are shown.
first-workshop = In a real workshop
first-begin = Where to start
first-look-round = Tour of a healthy engine
first-job = The first job: idles high
first-all = All scenarios…
first-stay = Stay here
cautions-title = Before you touch this car
cautions-were-read = You have confirmed that you read them.
cautions-read = I have read them and will follow them

## Which scenario

scenarios-title = Scenarios
scenarios-all = all
scenarios-easy = easy
scenarios-medium = medium
scenarios-hard = hard
scenarios-ends-this = Opening another scenario ends this attempt without saving it. Hand over the car first to keep it.
scenarios-graded = { $level } · { $car } · marked
scenarios-ungraded = { $level } · { $car }
scenarios-this = open now
scenarios-passed = passed
scenarios-next = Next: { $title }
scenarios-from-file = or from a file
scenarios-path = path of a .toml file
scenarios-open = Open

## Questions

ask-before = First, a question
ask-expect = What do you expect?
ask-waits = On hold: { $act }
ask-put-away = Close
ask-do-it = Continue without answering
ask-do-not = Cancel
ask-a-number = a number
ask-say-it = Submit
ask-rises = It rises
ask-same = It stays the same
ask-falls = It falls
ask-cause = What is wrong?
ask-cause-counts = Full marks: the last causes that you name before the first repair, reset or relearn are the right ones, one for each fault. Named later, they earn half. Each wrong cause, even one that you changed later, costs half the marks of a right one.

## What came of a prediction

outcome-said = You said: { $said }.
outcome-came = Result: { $came }.
outcome-why = Why?
outcome-alone = This is the result for the same car with nothing else done to it. The debrief explains why.
outcome-course = how the value moved between question and result
outcome-go-on = Continue
outcome-traces = Continue with the traces

## From afar

middle-present = Present
middle-module = Module
present-back = Back to the bench (F11)

## The tachometer

tacho-none = –
tacho-rpm = rpm
tacho-target = rpm, target { $rpm }
tacho-spoken = engine speed { $rpm } rpm, target { $target } rpm, { $doing }
tacho-cranking = cranking
tacho-key-off = key off
tacho-driven = driving
tacho-routine = routine active
tacho-stopped = engine off
tacho-idling = idling
tacho-running = running

## The debrief

debrief-title = Debrief
debrief-folder = folder
debrief-save = Save debrief
debrief-save-logbook = Save logbook
debrief-save-traces = Save traces
debrief-points = { $points } of { $of } marks
debrief-closed = passed
debrief-not-closed = not passed: work incomplete
debrief-lid-off = true values were shown
debrief-again = Try again
debrief-another = Another scenario…
debrief-look = Look at the car as it is now
debrief-truth = Show what was wrong
debrief-truth-of-whole = Show true values
debrief-missing = Still missing
debrief-nothing-missing = Nothing is missing.
debrief-to-moment = Go to { $time }
debrief-no-lesson = This scenario is not a lesson: it is not marked.
debrief-job = Job card
debrief-without-says = What would have come of it if a step had been left out? The bench runs the rest of your work again without it.
debrief-without = Without this step
debrief-job-work = work
debrief-job-minutes = min
debrief-job-sum = { $minutes } min, { $money } { $currency }
debrief-needed = required to pass
debrief-predicted = Predictions and results
debrief-no-question = no questions were asked
debrief-said = answer: { $said }
debrief-said-nothing = no answer
debrief-came = result: { $came }
debrief-came-unseen = run ended before the result
debrief-right = correct
debrief-wrong = wrong
debrief-causes = Causes named
debrief-good-parts = Good parts replaced: { $parts }
debrief-back-and-lid = went back { $back ->
        [one] once
       *[other] { $back } times
    }, true values shown { $lid ->
        [one] once
       *[other] { $lid } times
    }

## Hands

hands-title = Controls
hands-reach = act on
hands-reach-both = both
hands-reach-first = first
hands-reach-second = second
hands-driver-drives = The driver has the pedals
hands-brake = Brake
hands-charger = Battery charger connected: { $volts }, { $amps }
hands-gear-title = Gear
hands-gear = gear { $gear }
hands-gear-key = { $gear } (key { $key })
hands-key-title = Key
hands-key = key { $place }
hands-pedal-title = Pedal
hands-pedal = pedal
hands-pedal-keys = + and − move the pedal by 5 %, Backspace releases it
hands-pedal-lift = release
hands-pedal-lift-key = release the pedal (Backspace)
hands-pedal-off = release the pedal

## What work costs

cost-minutes-and-money = { $minutes } min, { $money } { $n ->
        [one] unit
       *[other] units
    }
cost-money = { $money } { $n ->
        [one] unit
       *[other] units
    }
cost-minutes = { $minutes } min

## Workshop tools and shelf

shelf-tools = Workshop tools
shelf-title = Spare parts
shelf-work = Other work
shelf-cylinder = cylinder
shelf-bank = bank
shelf-at = at
shelf-round = around
shelf-which = which
shelf-measure = Measure
shelf-showed = Readings
shelf-other-battery = different type or size from the one in the car
shelf-serial = serial
shelf-serial-any = any
shelf-serial-why = Leave empty for a new part. A part with the same serial is paid for only once.
shelf-needs-stopped = needs engine off
shelf-needs-key-off = needs key off
shelf-fit = Fit new part ({ $price })
shelf-plugs = Connectors…
shelf-plugs-pulled = Connectors, { $pulled } off
shelf-each = { $cost } each

# What must hold before a tool is used
tool-needs-fuel-pressure = to fit: engine off
tool-needs-smoke-test = needs engine and key off
tool-needs-exhaust-smoke = needs engine off
tool-needs-gas-reading = needs engine running
tool-needs-voltmeter = sensor pins: key on
tool-needs-battery-tester = needs engine and key off, no charger connected
tool-needs-hydrometer = flooded batteries only
tool-needs-scope = sensor pins: key on; takes two seconds
tool-needs-inspect = throttle: engine and key off; air filter: engine off
tool-needs-back-pressure = to fit: engine off
tool-needs-compression = needs engine off, all coils and injectors disconnected; then press the pedal fully and crank
tool-needs-leak-down = needs engine and key off

## Other work

shelf-do-it = Do this
shelf-sensor-and-wire = the sensor and its wiring
shelf-swap-with = with
shelf-swap = Swap
shelf-fuel = fuel
shelf-fill-in = Refuel
shelf-draws = current
shelf-amps-always = A, always on
shelf-to-the-posts = directly to the battery posts
shelf-charges = current limit
shelf-amps-at-most = A
shelf-clamp-on-the-post = negative clamp on the battery post
shelf-connect-charger = Connect
shelf-wire-it = Fit
shelf-take-it-off = Remove
shelf-swallows = drops
shelf-of-its-sparks = % of sparks
shelf-put-it-in = Fit the box
shelf-take-it-out = Remove the box
shelf-hold-at = speed
shelf-rollers = roller load
shelf-hold-until = A driver holds the speed until you use the pedal, brake, gear or key.
shelf-hold = Hold
shelf-drive-on = Drive or wait…
shelf-drive-on-cost = driving time

# Cautions for work by hand, and what must hold before
hand-needs-clean-throttle-body = needs engine and key off
hand-mind-inlet-leak = hoses and gaskets of the intake

## Faults that are slipped in

slip-title = Apply a fault
slip-logbook = The logbook records the fault like any other action; it gives no values while true values are hidden.
slip-by-level = By level
slip-by-level-says = Level 1: the evidence points at the fault. Level 2: it points at a sound part as well. Level 3: the evidence is contradictory. Place and size come from the seed. Faults in replaced parts can be applied only with the key off.
slip-any = Any of level { $level }
slip-by-hand = Chosen in detail
slip-leak = Size of an intake air leak
slip-exhaust-leak = Exhaust leak
slip-sensor = Sensor and wiring
slip-make-it-so = Apply fault
slip-part = A part
slip-part-serial = Anything not set here follows from the serial. The engine must be off.
slip-fit = Fit part
slip-battery-as-the-car = as in the car

## A part's card

card-of-several = { $part } { $k }
card-of-sensor = { $part }: { $sensor }
card-lid-on = True values are hidden: you know only what you measure or see.
card-serial = Serial { $serial }
card-is-good = in good condition
card-not-told = This part has no true value of its own: compare its reading with the true traces.
card-looked = Checked at { $at }: { $seen }
card-look = Visual check ({ $price })
card-clamp-off = Disconnect the battery
card-clamp-on = Reconnect the battery
card-belt-off = Remove the belt
card-belt-on = Fit the belt
card-pull-plug = Disconnect
card-push-plug = Connect
card-fit = Replace…

# What a part does
about-throttle-body = A motor turns a plate that controls the air. The throttle stop differs from part to part, and deposits build up behind the plate.
about-air-meter = Measures the air going into the engine. Air that enters after it is not measured.
about-injector = Sprays fuel for one cylinder. Each one delivers slightly more or less than nominal; on some cars a code printed on it gives the difference.
about-fuel-pump = Pumps fuel from the tank to the rail.
about-regulator = Keeps the pressure in the fuel rail constant.
about-fuel-filter = Keeps dirt out of the rail. A blocked filter lowers the fuel pressure.
about-air-filter = Keeps dust out of the engine. A blocked filter costs power.
about-purge-valve = Lets fuel vapour from the tank into the engine when the module opens it.
about-fuel-cap = Closes the filler neck, so that fuel vapour stays in the tank.
about-vapour-line = Carries fuel vapour from the tank to the canister and the purge valve.
about-vent-valve = Lets air into the canister. The module closes it for the leak test.
about-thermostat = Keeps the coolant in the engine until it is warm.
about-exhaust = Exhaust pipe and catalyst of one bank.
about-sensor = Converts a physical quantity into a voltage.
about-flexplate = Carries the reluctor wheel: 58 teeth and a gap of two. No wheel runs perfectly true, and the module learns the errors.
about-crank-sensor = Detects the teeth of the reluctor wheel.
about-coil = Makes the high voltage for one spark plug.
about-plug = Makes the spark. A wide gap may need more voltage than the coil can deliver.
about-valves = Let gas into and out of one cylinder. Leaking valves lose compression.
about-rings = Seal the piston. Worn rings lose compression.
about-pulley = Drives the belt and damps torsional vibration of the crankshaft.
about-cam-drive = Chain and sprockets turn the camshaft in step with the crankshaft. No two sit exactly alike, and a stretched chain retards the camshaft.
about-egr-valve = Recirculates exhaust gas into the manifold. A motor lifts its pintle against a spring; a sensor reports the pintle's position. The closed position differs a little from valve to valve.
about-cam-phaser = Oil turns the inlet camshaft against its sprocket; without oil pressure a pin locks it at its rest stop.
about-battery = Supplies the car. If it is disconnected, the module forgets some of what it has learned.
about-alternator = Supplies the car while the engine runs, at the voltage requested by the module.
about-module = Controls the engine and learns its parts. A new one is blank.

## Ask the module

asking-title = Scan tool
asking-runs = Routine running
asking-runs-says = Routine running: { $says }
asking-done = Routine complete
asking-failed = Routine failed
asking-failed-says = Routine failed: { $says }
asking-stop = Stop routine
asking-answered = Last answer
asking-nothing-yet = nothing yet
asking-read = Read
asking-frame = Freeze frame of { $code }
asking-write = Write
asking-clear-mind = Clears codes, freeze frame and readiness. On some cars, learned values too.
asking-battery = Battery record
asking-battery-counts-on = registered: { $kind }, { $rated } Ah; { $passed } of { $of } Ah of charge counted
asking-battery-enter = Register { $kind }, { $rated } Ah
asking-battery-label = Take the data from the battery label. No code reminds you if you forget this.
asking-injectors = Injector codes
asking-of-cylinder = for cylinder
asking-printed-on = printed on injector
asking-type-a-code = or type a code
asking-enter-printed = Enter printed code
asking-enter-typed = Enter typed code
asking-start = Start
asking-cut-out = Switch off cylinder { $cylinder }
asking-idle-at = idle speed
asking-idle = Command idle speed { $rpm } rpm
asking-own-idle = Back to normal idle speed

## A finished attempt without one of its steps

without-title = Without this step: { $step }
without-runs = Running the rest of your work again without this step…
without-stop = Stop
without-no-thread = This step cannot be left out.
without-done = with the step
without-left-out = without it
without-alike = The same both times: { $n ->
    [one] one value
   *[other] { $n } values
}
without-note = Everything else was done as you did it, at the same intervals. Small differences in speed are chance: no two combustions are the same.
