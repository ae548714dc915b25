# Names of what is declared in the catalogue: the kind and the id with hyphens, as part-throttle-body.
# A name is written as it stands inside a sentence; what begins a line raises its first letter.
# Where there are several, the message with -n behind it takes the number of cylinder or bank: part-injector-n.

# Parts
part-throttle-body = throttle body
part-air-meter = air meter
part-injector = injector
part-injector-n = injector { $n }
part-fuel-pump = fuel pump
part-regulator = fuel pressure regulator
part-fuel-filter = fuel filter
part-air-filter = air filter
part-purge-valve = purge valve
part-thermostat = thermostat
part-exhaust = exhaust with catalyst
part-exhaust-n = exhaust of bank { $n }
part-sensor = sensor
part-flexplate = flexplate
part-crank-sensor = crankshaft sensor
part-coil = coil
part-coil-n = coil { $n }
part-plug = spark plug
part-plug-n = spark plug { $n }
part-valves = valves
part-valves-n = valves of cylinder { $n }
part-rings = piston rings
part-rings-n = piston rings of cylinder { $n }
part-pulley = crankshaft pulley
part-cam-drive = camshaft drive
part-cam-phaser = camshaft phaser
part-battery = battery
part-alternator = alternator
part-module = engine module, blank
# parts that are told of and never exchanged
part-seals-n = valves and rings of cylinder { $n }
part-shaft = crankshaft

# What may be said of a part
fault-deposit-um = deposit
fault-stop-offset-deg = throttle stop offset
fault-error-pct = error
fault-error-high-pct = error at 60 g/s
fault-wear-pct = wear or blockage
fault-track-wear-pct = wear of first track
fault-aged-pct = catalyst ageing
fault-leak-mm2 = internal leak
fault-drip-mg-s = drip rate
fault-runout-mm = runout
fault-high-deg = high point at
fault-hit-tooth = damaged tooth
fault-hit-deg = tooth edge off by
fault-gap-mm = gap
fault-ripple-nm = torque ripple
fault-teeth-late = timing late, teeth
fault-stretch-deg = chain stretched
fault-stuck-deg = stuck at an advance of
fault-rated-ah = rated capacity
fault-cold-a = cold cranking current
fault-charge-pct = charge
fault-variant = wrong variant
fault-bent = bracket bent
fault-battery-type = type

# Kinds of battery
battery-flooded = flooded
battery-mat = AGM

# Sensors
sensor-air-meter = air meter
sensor-manifold-pressure = manifold pressure
sensor-throttle-1 = first throttle position
sensor-throttle-2 = second throttle position
sensor-pedal = pedal position
sensor-coolant = coolant temperature
sensor-inlet-air = inlet air temperature
sensor-oxygen-1 = bank 1 oxygen
sensor-oxygen-2 = bank 2 oxygen
sensor-crank = crankshaft
sensor-rear-oxygen-1 = bank 1 rear oxygen
sensor-rear-oxygen-2 = bank 2 rear oxygen

# What is wrong with a sensor
sensor-ill-offset-v = offset
sensor-ill-gain = gain
sensor-ill-lag-s = lag
sensor-ill-noise-v = noise
sensor-ill-stuck = stuck
sensor-ill-wire = wire

# How a wire is
wire-sound = good
wire-open = open circuit
wire-to-earth = short to earth
wire-to-supply = short to supply
wire-loose = loose contact

# Connectors
connector-air-meter = air meter
connector-manifold-pressure = manifold pressure sensor
connector-throttle-body = throttle body
connector-coolant-sensor = coolant sensor
connector-oxygen-sensor-1 = oxygen sensor, bank 1
connector-oxygen-sensor-2 = oxygen sensor, bank 2
connector-rear-oxygen-sensor-1 = rear oxygen sensor, bank 1
connector-rear-oxygen-sensor-2 = rear oxygen sensor, bank 2
connector-crank-sensor = crankshaft sensor
connector-battery = battery
connector-purge-valve = purge valve
connector-purge-hose = purge hose
connector-cam-valve = camshaft oil valve
connector-fan = radiator fan
connector-alternator = alternator
connector-pedal = pedal
connector-belt = belt
connector-injector-n = injector { $n }
connector-coil-n = coil { $n }

# Loads
load-compressor = A/C compressor
load-heated-glass = heated rear window
load-lamps = headlamps
load-steering = steering at lock
load-blower = cabin blower

# Key and gear
key-off = off
key-on = on
key-crank = start
gear-park = park
gear-neutral = neutral
gear-drive = drive

# Bay tools, and where they touch or look
tool-vacuum-gauge = vacuum gauge
tool-fuel-pressure = fuel pressure gauge
tool-smoke-test = smoke test
tool-exhaust-smoke = exhaust smoke test
tool-gas-reading = exhaust gas analyser
tool-voltmeter = voltmeter
tool-ampere-clamp = current clamp
tool-battery-tester = battery tester
tool-hydrometer = hydrometer
tool-thermometer = thermometer
tool-scope = scope
tool-inspect = visual check
tool-back-pressure = back-pressure gauge
tool-compression = compression test
point-battery-post = battery post
point-module-supply = module supply
point-injector-n = injector { $n }
lead-battery-lead = battery lead
lead-alternator-lead = alternator lead
lead-accessory-lead = accessory lead
look-throttle-body = throttle body
look-air-filter = air filter
look-hoses = hoses
look-injector-n = injector { $n }
look-battery = battery

# Requests over the diagnostic link, and routines
service-read-codes = read codes
service-clear-codes = clear codes
service-read-freeze-frame = read freeze frame
service-read-learned = read learned values and gates
service-read-live = read live values
service-read-value = read one live value
service-read-readiness = read readiness
service-write-injector-code = enter injector code
service-read-injector-code = read injector code
service-enter-battery-record = register battery
service-read-battery-record = read battery record
service-progress = read routine status
service-stop = stop routine
service-restart = restart the module
service-reset-idle-air = reset idle air
service-reset-closed-stop = reset throttle stop
service-reset-long-trims = reset long-term trims
service-reset-alcohol = reset alcohol share and infer it again
service-reset-cylinder-trims = reset cylinder trims
service-reset-short-pulse = reset short-pulse trims
service-reset-wheel-table = reset crankshaft variation
service-reset-injector-codes = reset injector codes
service-learn-idle = settle the idle
service-learn-closed-stop = find the throttle stop
service-learn-short-pulse = learn short pulses
service-learn-wheel = learn crankshaft variation
service-learn-cam-rest = learn camshaft rest position
service-cut-out = cylinder cut-out test
service-command-idle = command idle speed

# Groups of learned values
group-idle-air = idle air
group-closed-stop = throttle stop
group-long-trims = long-term trims
group-alcohol = alcohol share
group-injector-codes = injector codes
group-cylinder-trims = cylinder trims
group-short-pulse = short-pulse trims
group-wheel-table = crankshaft variation

# Other work by hand
hand-connector = connectors and hoses
hand-battery-clamp = battery clamp
hand-swap-injectors = swap two injectors
hand-clean-throttle-body = clean throttle body
hand-accessory = wire an accessory
hand-inlet-leak = seal inlet leak
hand-exhaust-leak = seal exhaust leak
hand-rollers = hold speed on rollers
hand-spark-interrupter = misfire box
hand-sensor-wiring = repair sensor or wiring
hand-refuel = refuel

# Patterns of driving
pattern-town = town
pattern-motorway = motorway
pattern-hill = hill
pattern-long-idle = long idle
pattern-cold-starts = cold starts
pattern-coast-downs = coast-downs
pattern-mixed = mixed

# Signals: what is recorded, and what the module tells as live values
signal-time-s = time
signal-engine-speed-rpm = engine speed
signal-target-speed-rpm = target speed
signal-map-kpa = manifold pressure
signal-air-g-s = metered air
signal-throttle-deg = throttle angle
signal-pedal-pct = pedal
signal-spark-deg = ignition timing
signal-lambda-1 = lambda
signal-short-trim-1-pct = short-term trim
signal-long-trim-1-pct = long-term trim
signal-coolant-c = coolant
signal-supply-v = supply voltage
signal-road-km-h = road speed
signal-idle-air-base-g-s = idle air: base
signal-idle-air-load-g-s = idle air: loads
signal-idle-air-learned-g-s = idle air: learned
signal-idle-air-pi-g-s = idle air: PI control
signal-battery-a = battery current
signal-charge-set-v = charging voltage target
signal-battery-charge-pct = battery charge, counted
signal-true-deposit-um = deposit
signal-true-idle-air-needed-g-s = extra idle air needed
signal-true-leak-g-s = unmetered leak
signal-true-lambda-cylinder-1 = lambda, cylinder 1
signal-true-catalyst-c = catalyst, bank 1
signal-true-battery-charge-pct = battery charge
signal-true-battery-left-pct = battery capacity left
signal-true-battery-water-g = battery water lost
signal-target-rpm = target speed
signal-inlet-air-c = inlet air
signal-air-by-pressure-g-s = calculated air
signal-rail-kpa = fuel rail pressure
signal-purge-pct = purge valve duty
signal-lambda = lambda
signal-lambda-bank2 = lambda, bank 2
signal-short-pct = short-term trim
signal-short-bank2-pct = short-term trim, bank 2
signal-long-pct = long-term trim
signal-long-bank2-pct = long-term trim, bank 2
signal-rear-oxygen-v = rear oxygen sensor
signal-rear-oxygen-bank2-v = rear oxygen sensor, bank 2
signal-idle-base-g-s = idle air: base
signal-idle-load-g-s = idle air: loads
signal-idle-learned-g-s = idle air: learned
signal-idle-pi-g-s = idle air: PI control
signal-misfire-pct = misfire rate
signal-charge-base-v = charging: base by type
signal-charge-cold-v = charging: temperature
signal-charge-age-v = charging: age
signal-charge-stage-v = charging: stage
signal-battery-c = battery temperature
signal-field-duty-pct = alternator duty
signal-cut-out-drop-rpm = speed drop, cut-out test
signal-catalyst-pct = catalyst, last test, of new
signal-catalyst-bank2-pct = catalyst, last test, of new, bank 2
signal-fuel-level-pct = fuel level
signal-alcohol-pct = alcohol share, believed
signal-cam-wanted-deg = inlet camshaft advance, commanded
signal-cam-advance-deg = inlet camshaft advance, actual
signal-misfires-n = misfires, cylinder { $n }

# Learned values
learned-idle-air-light = idle air, no load
learned-idle-air-loaded = idle air, extra under load
learned-closed-stop = closed throttle stop
learned-long-idle-n = long-term trim, idle, bank { $n }
learned-long-part-n = long-term trim, part load, bank { $n }
learned-long-high-n = long-term trim, high flow, bank { $n }
learned-injector-flow-n = injector flow { $n }
learned-injector-dead-n = injector dead time { $n }
learned-cylinder-trim-n = cylinder trim { $n }
learned-short-pulse-n = short pulse { $n }
learned-ambient = ambient pressure
learned-alcohol = alcohol share of the fuel
learned-cam-rest = camshaft rest position
learned-wheel-table = crankshaft variation
learned-battery-age = battery age, counted
learned-battery-charge = battery charge, counted
learned-catalyst-n = catalyst, last test, bank { $n }

# Gates
gate-idling = idling
gate-warm = warm
gate-neutral = neutral
gate-standing = standing
gate-no-load = no load
gate-loaded = load on
gate-speed-error = speed error
gate-integrator-bounded = idle trim within limit
gate-stop-known = throttle stop known
gate-no-blocking-code = no blocking code
gate-in-cell = in cell
gate-closed-loop = closed loop
gate-steady = steady
gate-no-purge = no purge
gate-certain = accuracy
gate-at-rest-or-wide = engine stopped or throttle wide open
gate-refuelled = refuelled or reset
gate-blend-known = alcohol share settled
gate-asleep = module asleep
gate-little-current = low current
gate-rested = rested
gate-referenced = charge known
gate-charged = charged
gate-battery-mild = battery temperature
gate-catalyst-warm = catalyst hot
gate-trim-settled = short-term trim settled
gate-rear-answers = rear oxygen sensor switches
gate-cam-at-rest = camshaft at rest
gate-near-stored = near the stored value

# Monitors
monitor-misfire = misfire
monitor-fuel-system = fuel system
monitor-components = components
monitor-oxygen-sensor = oxygen sensor
monitor-oxygen-sensor-heater = oxygen sensor heater
monitor-catalyst = catalyst

# Cars
car-plover = Plover 1.8
car-dunlin = Dunlin 1.6
car-whimbrel = Whimbrel 3.0

# Trouble codes
code-P0010 = inlet camshaft oil valve circuit open, bank 1
code-P0011 = inlet camshaft over-advanced or does not follow, bank 1
code-P0016 = crankshaft and camshaft positions do not match, bank 1
code-P0101 = air meter does not match pressure and speed
code-P0102 = air meter circuit low
code-P0103 = air meter circuit high
code-P0107 = manifold pressure circuit low
code-P0108 = manifold pressure circuit high
code-P0112 = inlet air temperature circuit low
code-P0113 = inlet air temperature circuit high
code-P0117 = coolant temperature circuit low
code-P0118 = coolant temperature circuit high
code-P0122 = throttle position sensor 1 circuit low
code-P0123 = throttle position sensor 1 circuit high
code-P0128 = coolant stays below thermostat temperature
code-P0131 = oxygen sensor circuit low, bank 1
code-P0132 = oxygen sensor circuit high, bank 1
code-P0133 = oxygen sensor slow response, bank 1
code-P0135 = oxygen sensor heater circuit, bank 1
code-P0141 = rear oxygen sensor heater circuit, bank 1
code-P0151 = oxygen sensor circuit low, bank 2
code-P0152 = oxygen sensor circuit high, bank 2
code-P0153 = oxygen sensor slow response, bank 2
code-P0155 = oxygen sensor heater circuit, bank 2
code-P0161 = rear oxygen sensor heater circuit, bank 2
code-P0171 = mixture too lean, bank 1
code-P0172 = mixture too rich, bank 1
code-P0174 = mixture too lean, bank 2
code-P0175 = mixture too rich, bank 2
code-P0201 = injector circuit open, cylinder 1
code-P0202 = injector circuit open, cylinder 2
code-P0203 = injector circuit open, cylinder 3
code-P0204 = injector circuit open, cylinder 4
code-P0205 = injector circuit open, cylinder 5
code-P0206 = injector circuit open, cylinder 6
code-P0207 = injector circuit open, cylinder 7
code-P0208 = injector circuit open, cylinder 8
code-P0217 = engine coolant over temperature
code-P0222 = throttle position sensor 2 circuit low
code-P0223 = throttle position sensor 2 circuit high
code-P0300 = misfire in several cylinders
code-P0301 = misfire in cylinder 1
code-P0302 = misfire in cylinder 2
code-P0303 = misfire in cylinder 3
code-P0304 = misfire in cylinder 4
code-P0305 = misfire in cylinder 5
code-P0306 = misfire in cylinder 6
code-P0307 = misfire in cylinder 7
code-P0308 = misfire in cylinder 8
code-P0315 = crankshaft position system variation not learned
code-P0316 = misfire in the first 1000 revolutions after a start
code-P0335 = crankshaft sensor circuit: no signal while cranking
code-P0336 = crankshaft sensor signal implausible
code-P0351 = ignition coil primary circuit open, cylinder 1
code-P0352 = ignition coil primary circuit open, cylinder 2
code-P0353 = ignition coil primary circuit open, cylinder 3
code-P0354 = ignition coil primary circuit open, cylinder 4
code-P0355 = ignition coil primary circuit open, cylinder 5
code-P0356 = ignition coil primary circuit open, cylinder 6
code-P0357 = ignition coil primary circuit open, cylinder 7
code-P0358 = ignition coil primary circuit open, cylinder 8
code-P0420 = catalyst efficiency below threshold, bank 1
code-P0430 = catalyst efficiency below threshold, bank 2
code-P0443 = purge valve circuit open
code-P0480 = radiator fan circuit open
code-P0506 = idle speed lower than expected
code-P0507 = idle speed higher than expected
code-P0562 = system voltage low
code-P0563 = system voltage high
code-P0622 = alternator field circuit open
code-P2119 = throttle plate does not follow command
code-P2122 = pedal position circuit low
code-P2123 = pedal position circuit high
code-P2135 = throttle position sensors do not match
code-P2176 = closed throttle position not learned
code-P0087 = fuel rail pressure too low
code-P268A = injector codes not programmed
code-P268C = injector code not valid, cylinder 1
code-P268D = injector code not valid, cylinder 2
code-P268E = injector code not valid, cylinder 3
code-P268F = injector code not valid, cylinder 4

# What is true of a part
is-deposit-um = deposit { $x } µm
is-stop-offset-deg = throttle stop offset { $x }°
is-bore-mm = bore { $x } mm
is-motor-wear-pct = motor worn { $x } %
is-track-wear-pct = sensor track worn { $x } %
is-variant = other variant
is-gain-pct = gain { $x } %
is-at-3-g-s-pct = a further { $x } % at 3 g/s
is-at-60-g-s-pct = { $x } % at 60 g/s
is-flow-pct = flow { $x } %
is-dead-us = dead time { $x } µs
is-short-pct = short pulses { $x } %
is-clogged-pct = { $x } % blocked
is-drip-mg-s = drips { $x } mg/s
is-strength-pct = spark energy { $x } % of good
is-gap-mm = gap { $x } mm
is-valves-mm2 = valves leak { $x } mm²
is-rings-mm2 = rings leak { $x } mm²
is-runout-mm = runout { $x } mm
is-high-deg = high point at { $x }°
is-hit-tooth = tooth { $x } damaged
is-hit-deg = tooth edge off by { $x }°
is-sees-deg-mm = edge shifts { $x }° per mm of air gap
is-bent = bracket bent
is-inertia-pct = inertia { $x } %
is-masses-pct = reciprocating mass { $x } %
is-ripple-nm = torque ripple { $x }
is-teeth-late = timing { $x } teeth late
is-stretch-deg = chain stretched by { $x }°
is-trigger-deg = trigger wheel { $x }° late
is-stuck-deg = stuck at { $x }°
is-rate-pct = rate { $x } %
is-moves-pct = delivery { $x } %
is-pressure-pct = pressure { $x } %
is-leak-mm2 = leaks { $x } mm²
is-blocked-pct = { $x } % blocked
is-catalyst-pct = catalyst { $x } % of new
is-rated-ah = rated { $x } Ah
is-cold-a = cold cranking { $x } A
is-holds-ah = capacity now { $x } Ah
is-resistance-mohm = { $x } mΩ
is-charge-pct = { $x } % charged
is-water-lost-g = { $x } g of water lost
is-gives-pct = output { $x } % of good
is-opens-pct = at least { $x } % open
is-code = code { $x }

# What was said of a part that is fitted
said-number = { $what } { $x }
said-with-unit = { $what } { $x } { $unit }

# Faults to surprise with
surprise-coolant-wire = coolant sensor wire broken
surprise-air-wire = wire of the air meter or pressure sensor broken
surprise-coil-plug = coil connector off
surprise-alternator-plug = alternator connector off
surprise-inlet-leak = inlet leak
surprise-injector-plug = injector connector off
surprise-weak-spark = some sparks missing
surprise-wide-gap = spark plug gap too wide
surprise-weak-pump = fuel pump worn
surprise-open-thermostat = thermostat stays open
surprise-coolant-reads-wrong = coolant sensor reads wrong
surprise-air-reads-low = air meter or pressure sensor reads low
surprise-exhaust-leak = exhaust leak ahead of the sensor
surprise-lean-cylinder = one injector delivers too little
surprise-bent-bracket = crank sensor bracket bent
