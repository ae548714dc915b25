# What the module decides, refuses and reports: learned values, gates, routines, codes.

## Why a request was refused: the condition, and the value that broke it.

refused-no-value = no value is called { $name }
refused-engine-turning = engine running ({ $rpm } rpm). Needs key on, engine off
refused-battery-capacity = { $is } Ah given. This module takes batteries of { $least } to { $most } Ah
refused-no-injector-codes = this module does not use injector codes
refused-no-cylinder = this engine has { $of } cylinders, no cylinder { $cylinder }
refused-other-kind = this is a type { $kind } code. This module takes type { $takes }
refused-under-way = { $routine } is still running
refused-no-group = this module does not store { $group }
refused-supply-below = supply voltage { $is } V. Needs at least { $needs } V
refused-throttle-not-ready = throttle not ready. Wait a second after key on
refused-not-running = engine not running. Needs the engine idling
refused-idle-speed = { $asked } rpm requested. Allowed: { $least } to { $most } rpm
refused-not-idling = engine not idling. Needs the engine idling
refused-not-parked = in gear. Needs park or neutral
refused-no-short-pulse = this module has no short-pulse trim
refused-no-vapour-test = this module has no EVAP leak test
refused-fuel-level-outside = fuel level { $is } %; needs { $low } to { $high } %
refused-injector-codes-missing = injector codes missing. Enter them first
refused-no-phaser = this engine has no camshaft phaser
refused-no-egr-valve = this engine has no EGR valve
refused-inlet-outside = inlet air { $is }. Needs { $low } to { $high }
refused-cam-too-far = camshaft edges { $is }° away from nominal. At most { $most }° can be learned: check camshaft timing
refused-idle-control-off = idle control not active (engine at { $rpm } rpm)
refused-coolant-below = coolant { $is }. Needs at least { $needs }
refused-coolant-outside = coolant { $is }. Needs { $low } to { $high }
refused-in-gear = in gear. Needs park or neutral
refused-load-on = an electrical or engine load is on. Needs all loads off
refused-open-loop = fuelling in open loop. Wait for closed loop
refused-moving = car moving at { $speed }. Needs the car stationary
refused-code-stored = { $code } is stored. Repair its cause first
refused-attempts-used-up = all { $of } attempts of this key cycle used. Switch the key off, wait, find the reason
refused-stop-unknown = throttle stop not learned. Learn it first
refused-electrical-load = electrical load { $is } A. Needs { $most } A or less
refused-purge-flowing = purge valve at { $duty } %. Wait until the canister is empty of vapour
refused-code-matured = { $code } is stored, and these values have not been reset since. Find the cause of the code, then reset them
# A scenario keeps the reason back.
withheld = a condition is not met

injector-code-length = a code has { $needs } characters ({ $given } given)
injector-code-character = the character { $character } is not used in injector codes
injector-code-check = the check characters do not match: characters are wrong or swapped

## How a routine stands: what it waits for, why it ended without result.

routine-state-none = no routine was started
routine-state-running = { $routine } running for { $seconds } s
routine-state-done = { $routine } complete

waits-hold = hold { $low } to { $high } rpm for { $seconds } s
waits-let-go = release the pedal now

failed-not-at-rest = idle air and speed did not settle in time, or a load was switched on
failed-at-limit = learned idle air reached its limit before idle speed settled: find the reason
failed-stop-outside = the throttle stop is outside the range that may be learned
failed-left-idle = the engine was no longer idling
failed-left-warm-idle = the engine was no longer at warm idle
failed-cylinders-not-at-rest = cylinder trims did not settle in time
failed-cam-too-far = the camshaft rest position is outside the range that may be learned
failed-engine-turned = the engine was started before the learn was complete
failed-learn-broken-off = supply voltage or temperature left its range, or the valve did not come to rest
failed-egr-stop-outside = the closed position is outside the range that may be learned: the valve does not shut
failed-stopped = stopped on request
failed-not-parked = the car was moving or in gear
failed-engine-stopped = the engine stopped
failed-no-verdict = conditions did not last, or too much fuel vapour formed to judge the result
failed-attempts-used-up = all { $of } attempts of this key cycle used

thrown-pedal = pedal pressed during deceleration
thrown-lifted-late = pedal released too late
thrown-load = a load was switched on or off
thrown-few-cycles = only { $cycles ->
    [one] { $cycles } whole cycle
   *[other] { $cycles } whole cycles
} seen on the way down
thrown-disagrees = tooth positions differ by { $deg }° from the earlier decelerations
thrown-too-far = a tooth edge would be off by { $deg }°: check reluctor wheel and sensor
thrown-moving = the car is moving or in gear
thrown-brake = brake pressed
thrown-rough-road = rough road
thrown-gear-change = the gear changed

## Who wrote a learned value.

written-by-nobody = never written
written-by-works = factory
written-by-ordinary-learning = normal learning
written-by-manual-sequence = manual sequence
written-by-service-routine = service routine
written-by-coast-downs = coast-downs
written-by-fired-refinement = fine learning with the engine firing
written-by-group-reset = group reset
written-by-power-cut = power cut
written-by-code-clear = clearing codes
written-by-code-entered = code entry

## Freeze frame: what the fuel was metered by.

frame-fuel-system = fuel system status
fuel-system-open-cold = open loop, conditions for closed loop not met
fuel-system-closed = closed loop
fuel-system-open-driving = open loop due to driving conditions
fuel-system-open-fault = open loop due to a fault

## Gates: the condition with its number, open and shut.

gate-idling-open = idle control active
gate-idling-shut = idle control not active
gate-warm-open = coolant { $now }, warm enough
gate-warm-hot = coolant { $now }, too hot
gate-warm-shut = coolant { $now }; needs { $limit } or more
gate-neutral-open = park or neutral
gate-neutral-shut = in gear; needs park or neutral
gate-standing-open = car stationary
gate-standing-shut = car moving at { $now }; needs the car stationary
gate-no-load-open = all loads off
gate-no-load-shut = a load is on; needs all loads off
gate-loaded-open = a load is on
gate-loaded-shut = all loads off; needs a load on
gate-speed-error-open = idle speed within { $limit } rpm of target, or any speed after a reset
gate-speed-error-new = idle speed within { $limit } rpm of target, but not for long enough yet
gate-speed-error-over = idle speed { $now } rpm above target; must stay within { $limit } rpm
gate-speed-error-under = idle speed { $now } rpm below target; must stay within { $limit } rpm
gate-integrator-bounded-open = idle correction { $now }, not at its limit
gate-integrator-bounded-new = idle correction { $now }, not observed for long enough yet
gate-integrator-bounded-shut = idle correction { $now }, at its limit; needs to be within ±{ $limit }
gate-stop-known-open = throttle stop known
gate-stop-known-shut = throttle stop not learned
gate-no-blocking-code-open = no code blocks learning
gate-no-blocking-code-shut = { $code } is set and blocks learning
gate-no-blocking-code-some = a code is set and blocks learning
gate-in-cell-open = engine in this load range
gate-in-cell-shut = engine not in this load range
gate-closed-loop-open = closed loop
gate-closed-loop-shut = open loop
gate-steady-open = steady air flow
gate-steady-shut = unsteady air flow
gate-no-purge-open = canister purge off
gate-no-purge-shut = canister purge on
gate-certain-open = accuracy ± { $now } %
gate-certain-shut = accuracy ± { $now } %; needs ± { $limit } % or better
gate-refuelled-open = tank filled or alcohol content reset; not settled since
gate-refuelled-shut = no refuelling detected and no reset: the stored content is kept
gate-blend-known-open = alcohol content settled
gate-blend-known-shut = alcohol content is being inferred after refuelling or a reset
gate-at-rest-or-wide-open = engine stopped, or throttle wide open
gate-at-rest-or-wide-shut = throttle not wide open; needs wide-open throttle, or the key on with the engine stopped
gate-asleep-open = module asleep
gate-asleep-shut = module awake; must be asleep
gate-little-current-open = battery current { $now } A
gate-little-current-shut = battery current { $now } A; needs { $limit } A or less
gate-rested-open = at rest for { $now } h
gate-rested-shut = at rest for { $now } h; needs { $limit } h
gate-referenced-open = battery charge known from voltage at rest
gate-referenced-shut = battery charge not known; needs { $limit } h at rest
gate-charged-open = battery charged to { $now } %
gate-charged-shut = battery charged to { $now } %; needs { $limit } % or more
gate-battery-mild-open = battery at { $now }
gate-battery-mild-hot = battery at { $now }; needs { $limit } or less
gate-battery-mild-cold = battery at { $now }; needs { $limit } or more
gate-catalyst-warm-open = catalyst estimated at { $now }
gate-catalyst-warm-shut = catalyst estimated at { $now }; needs { $limit } or more
gate-trim-settled-open = short-term trim settled at { $now } %
gate-trim-settled-shut = short-term trim at { $now } %; needs { $limit } % or less either way
gate-rear-answers-open = rear oxygen sensor responds
gate-rear-answers-shut = rear oxygen sensor did not respond when the mixture was changed
gate-front-follows-open = front oxygen sensor fast enough
gate-front-follows-shut = front oxygen sensor too slow when the mixture was changed
gate-rear-in-range-open = rear oxygen sensor in range
gate-rear-in-range-shut = rear oxygen sensor at a voltage that no sound sensor gives
gate-cold-start-open = started cold: coolant { $now } K above air
gate-cold-start-shut = not a cold start: coolant was { $now } K above air; needs { $limit } K or less
gate-air-mild-open = air at { $now } at the start
gate-air-mild-hot = air at { $now } at the start; needs { $limit } or less
gate-air-mild-cold = air at { $now } at the start; needs { $limit } or more
gate-fuel-level-open = fuel level { $now } %
gate-fuel-level-full = fuel level { $now } %; needs { $limit } % or less
gate-fuel-level-low = fuel level { $now } %; needs { $limit } % or more
gate-ambient-pressure-open = ambient pressure { $now }
gate-ambient-pressure-shut = ambient pressure { $now }; needs { $limit } or more
gate-fuel-calm-open = no excess fuel vapour measured in this drive
gate-fuel-calm-shut = fuel vapour raises tank pressure by { $now } Pa/s; needs { $limit } Pa/s or less
gate-cam-at-rest-open = camshaft at its rest stop
gate-cam-at-rest-shut = camshaft advanced, or not yet at rest for long enough
gate-engine-stands-open = engine stopped
gate-engine-stands-shut = engine turning or starter on: the learn ends there
gate-supply-open = supply { $now } V
gate-supply-shut = supply fell to { $now } V; needs { $limit } V or more
gate-key-on-time-open = key on for { $now } s before the start
gate-key-on-time-shut = last learn ended after { $now } s with key on; needs { $limit } s
gate-near-stored-open = measured { $now }° from the stored value
gate-near-stored-shut = measured { $now }° from the stored value; needs { $limit }° or less either way

no-stop-not-running = the engine is not running

## What the module decided.

notice-key-on = key on
notice-key-on-unsaved = key on again before the learned values were saved
notice-supply-back = supply was lost or too low; the module has started up again
notice-key-off = key off, module saving
notice-saved = values saved, module asleep
notice-engine-stopped = engine stopped with the key on
notice-sequence-aborted = manual sequence aborted in step { $step }; nothing saved
notice-sequence-complete = manual sequence complete; idle air, no load, now { $value }
notice-routine-started = { $routine } started
notice-learn-idle-done = { $routine } complete: idle air and speed have settled
notice-learn-closed-stop-done = { $routine } complete: throttle stop learned
notice-learn-short-pulse-done = { $routine } complete: delivery of each injector measured
notice-test-vapour-done = { $routine } complete: read the size of the leak among the learned values
notice-learn-egr-stop-done = { $routine } complete: closed position learned; saved after key off
notice-learn-cam-rest-done = { $routine } complete: rest position learned; saved after key off
notice-learn-wheel-done = { $routine } complete: standard error { $error }°; saved after key off
notice-routine-failed = { $routine } failed: { $because }
notice-routine-refused = { $routine } refused: { $because }
notice-injector-code-refused = injector code for cylinder { $cylinder } refused: { $because }
notice-battery-refused = register battery refused: { $because }
notice-request-refused = request refused: { $because }
notice-code-pending = { $code } pending
notice-code-confirmed = { $code } confirmed, MIL on
notice-codes-cleared = codes cleared
notice-tank-filled = tank filled, level { $level } %: alcohol content is inferred from now on
notice-alcohol-inferred = alcohol content inferred: { $share } %
notice-group-reset = { $group } reset
notice-idle-speed-asked = idle speed { $rpm } rpm commanded
notice-own-idle-speed = idle speed back to normal
notice-battery-entered = battery registered: { $kind }, { $rated } Ah
notice-injector-code-written = injector code for cylinder { $cylinder } stored: flow { $flow } %, dead time { $dead } µs
notice-wheel-suspect = crankshaft variation not trusted until it is learned again
notice-injector-cut = misfire damaging the catalyst: injector { $cylinder } switched off until key off
notice-injector-works = injector { $cylinder } switched on again
notice-wheel-learned = crankshaft variation learned from coast-downs, standard error { $error }°; saved after key off
run-down-counts = deceleration { $number } of { $of } accepted
run-down-counts-again = deceleration { $number } of { $of } accepted; { $hold }
run-down-thrown-away = deceleration rejected: { $because }
run-down-thrown-away-again = deceleration rejected: { $because }; { $hold }
coast-down-counts = coast-down { $number } of { $of } accepted
coast-down-thrown-away = coast-down rejected: { $because }

## Few words beside a mark on a chart.

flag-sequence-aborted = manual sequence aborted in step { $step }
flag-sequence-complete = manual sequence complete
flag-routine-failed = { $routine } failed
