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
part-exhaust = exhaust, catalyst
part-exhaust-n = exhaust of bank { $n }
part-sensor = sensor
part-flexplate = flexplate
part-crank-sensor = crank sensor
part-coil = coil
part-coil-n = coil { $n }
part-plug = spark plug
part-plug-n = spark plug { $n }
part-valves = valves
part-valves-n = valves of cylinder { $n }
part-rings = piston rings
part-rings-n = piston rings of cylinder { $n }
part-pulley = crank pulley
part-cam-drive = cam drive
part-battery = battery
part-alternator = alternator
part-module = module, blank
# parts that are told of and never exchanged
part-seals-n = valves and rings of cylinder { $n }
part-shaft = crankshaft

# What may be said of a part
fault-deposit-um = deposit film
fault-stop-offset-deg = closed stop off by
fault-error-pct = error
fault-error-high-pct = error at 60 g/s
fault-wear-pct = worn or blocked by
fault-track-wear-pct = first track worn by
fault-aged-pct = catalyst aged by
fault-leak-mm2 = lets by
fault-drip-mg-s = drips
fault-runout-mm = off its middle by
fault-high-deg = furthest out at
fault-hit-tooth = tooth that was hit
fault-hit-deg = its edge off by
fault-gap-mm = gap
fault-ripple-nm = ripple
fault-teeth-late = teeth late
fault-rated-ah = capacity on its label
fault-cold-a = cold current on its label
fault-charge-pct = charged to
fault-variant = the maker's other size
fault-bent = its bracket is bent
fault-battery-type = kind on its label

# Kinds of battery
battery-flooded = flooded
battery-mat = mat

# Sensors
sensor-air-meter = air meter
sensor-manifold-pressure = manifold pressure
sensor-throttle-1 = throttle 1
sensor-throttle-2 = throttle 2
sensor-pedal = pedal
sensor-coolant = coolant
sensor-inlet-air = inlet air
sensor-oxygen-1 = oxygen 1
sensor-oxygen-2 = oxygen 2
sensor-crank = crank
sensor-rear-oxygen-1 = rear oxygen 1
sensor-rear-oxygen-2 = rear oxygen 2

# What is wrong with a sensor
sensor-ill-offset-v = off by
sensor-ill-gain = times
sensor-ill-lag-s = lag
sensor-ill-noise-v = noise
sensor-ill-stuck = stuck
sensor-ill-wire = wire

# How a wire is
wire-sound = sound
wire-open = open
wire-to-earth = to earth
wire-to-supply = to supply
wire-loose = loose

# Connectors
connector-air-meter = air meter
connector-manifold-pressure = manifold pressure sensor
connector-throttle-body = throttle body
connector-coolant-sensor = coolant sensor
connector-oxygen-sensor-1 = oxygen sensor of bank 1
connector-oxygen-sensor-2 = oxygen sensor of bank 2
connector-rear-oxygen-sensor-1 = rear oxygen sensor of bank 1
connector-rear-oxygen-sensor-2 = rear oxygen sensor of bank 2
connector-crank-sensor = crank sensor
connector-battery = battery
connector-purge-valve = purge valve
connector-purge-hose = purge hose
connector-fan = radiator fan
connector-pedal = pedal
connector-belt = belt
connector-injector-n = injector { $n }
connector-coil-n = coil { $n }

# Loads
load-compressor = compressor
load-heated-glass = heated glass
load-lamps = lamps
load-steering = steering turned
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
tool-fuel-pressure = fuel gauge
tool-smoke-test = smoke test
tool-exhaust-smoke = exhaust smoke
tool-gas-reading = gas tester
tool-voltmeter = voltmeter
tool-ampere-clamp = ampere clamp
tool-battery-tester = battery tester
tool-hydrometer = hydrometer
tool-thermometer = thermometer
tool-scope = scope
tool-inspect = look at…
tool-back-pressure = back pressure
tool-compression = compression
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
service-read-freeze-frame = read a freeze frame
service-read-learned = read learned values with their gates
service-read-live = read live values
service-read-value = read one live value
service-read-readiness = read readiness
service-write-injector-code = enter an injector code
service-read-injector-code = read the stored code
service-enter-battery-record = enter the battery record
service-read-battery-record = read the battery record
service-progress = ask how the routine stands
service-stop = stop the routine
service-reset-idle-air = reset idle air
service-reset-closed-stop = reset the closed stop
service-reset-long-trims = reset long-term trims
service-reset-cylinder-trims = reset cylinder trims
service-reset-short-pulse = reset short-pulse trims
service-reset-wheel-table = reset the wheel table
service-reset-injector-codes = reset injector codes
service-learn-idle = learn idle air
service-learn-closed-stop = learn the closed stop
service-learn-short-pulse = learn short pulses
service-learn-wheel = learn the wheel
service-cut-out = cut a cylinder out
service-command-idle = ask for an idle speed

# Groups of learned values
group-idle-air = idle air
group-closed-stop = closed stop
group-long-trims = long-term trims
group-injector-codes = injector codes
group-cylinder-trims = cylinder trims
group-short-pulse = short-pulse trims
group-wheel-table = wheel table

# Other work by hand
hand-connector = plugs and hoses
hand-battery-clamp = battery clamp
hand-swap-injectors = swap two injectors
hand-clean-throttle-body = clean the throttle body
hand-accessory = wire an accessory
hand-inlet-leak = tighten the inlet
hand-exhaust-leak = tighten the exhaust
hand-rollers = hold a speed
hand-spark-interrupter = box in a coil's wire
hand-sensor-wiring = put a sensor right
hand-refuel = fill in fuel

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
signal-throttle-deg = throttle
signal-pedal-pct = pedal
signal-spark-deg = spark
signal-lambda-1 = lambda
signal-short-trim-1-pct = short-term trim
signal-long-trim-1-pct = long-term trim
signal-coolant-c = coolant
signal-supply-v = supply
signal-road-km-h = road speed
signal-idle-air-base-g-s = idle air: base
signal-idle-air-load-g-s = idle air: loads
signal-idle-air-learned-g-s = idle air: learned
signal-idle-air-pi-g-s = idle air: PI
signal-battery-a = battery current
signal-charge-set-v = charging set-point
signal-battery-charge-pct = battery charge by the module
signal-true-deposit-um = deposit
signal-true-idle-air-needed-g-s = idle air the parts need
signal-true-leak-g-s = unmetered leak
signal-true-lambda-cylinder-1 = lambda of cylinder 1
signal-true-catalyst-c = catalyst, bank 1
signal-true-battery-charge-pct = battery charge
signal-true-battery-left-pct = battery capacity left
signal-true-battery-water-g = water lost by the battery
signal-target-rpm = target speed
signal-inlet-air-c = inlet air
signal-air-by-pressure-g-s = air by pressure and speed
signal-rail-kpa = fuel rail
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
signal-idle-pi-g-s = idle air: PI
signal-misfire-pct = misfires of all firings
signal-charge-base-v = charging: base by kind
signal-charge-cold-v = charging: temperature
signal-charge-age-v = charging: age by record
signal-charge-stage-v = charging: stage
signal-battery-c = battery
signal-field-duty-pct = field duty
signal-misfires-n = misfires of cylinder { $n }

# Learned values
learned-idle-air-light = idle air, light
learned-idle-air-loaded = idle air, loaded difference
learned-closed-stop = closed throttle stop
learned-long-idle-n = long-term trim, idle, bank { $n }
learned-long-part-n = long-term trim, part load, bank { $n }
learned-long-high-n = long-term trim, high flow, bank { $n }
learned-injector-flow-n = injector flow { $n }
learned-injector-dead-n = injector dead { $n }
learned-cylinder-trim-n = cylinder trim { $n }
learned-short-pulse-n = short pulse { $n }
learned-wheel-table = wheel table
learned-battery-age = battery's age by its record
learned-battery-charge = battery's charge by count

# Gates
gate-idling = idling
gate-warm = warm
gate-neutral = neutral
gate-standing = standing
gate-no-load = no load
gate-loaded = loaded
gate-speed-error = speed error
gate-integrator-bounded = integrator bounded
gate-stop-known = stop known
gate-no-blocking-code = no blocking code
gate-in-cell = in cell
gate-closed-loop = closed loop
gate-steady = steady
gate-no-purge = no purge
gate-certain = certain
gate-asleep = asleep
gate-little-current = little current
gate-rested = rested
gate-referenced = referenced
gate-charged = charged
gate-battery-mild = battery mild

# Monitors
monitor-misfire = misfire
monitor-fuel-system = fuel system
monitor-components = components
monitor-oxygen-sensor = oxygen sensor
monitor-oxygen-sensor-heater = oxygen sensor heater

# Cars
car-plover = Plover 1.8
car-dunlin = Dunlin 1.6
car-whimbrel = Whimbrel 3.0

# Trouble codes
code-P0016 = crank and cam positions do not agree, bank 1
code-P0101 = air meter disagrees with pressure and speed
code-P0102 = air meter circuit low
code-P0103 = air meter circuit high
code-P0107 = manifold pressure circuit low
code-P0108 = manifold pressure circuit high
code-P0112 = inlet air temperature circuit low
code-P0113 = inlet air temperature circuit high
code-P0117 = coolant temperature circuit low
code-P0118 = coolant temperature circuit high
code-P0122 = throttle position, first track, circuit low
code-P0123 = throttle position, first track, circuit high
code-P0128 = coolant does not reach the thermostat's temperature
code-P0131 = oxygen sensor circuit low, bank 1
code-P0132 = oxygen sensor circuit high, bank 1
code-P0133 = oxygen sensor slow to respond, bank 1
code-P0135 = oxygen sensor heater, bank 1
code-P0151 = oxygen sensor circuit low, bank 2
code-P0152 = oxygen sensor circuit high, bank 2
code-P0153 = oxygen sensor slow to respond, bank 2
code-P0155 = oxygen sensor heater, bank 2
code-P0171 = mixture too lean, bank 1
code-P0172 = mixture too rich, bank 1
code-P0174 = mixture too lean, bank 2
code-P0175 = mixture too rich, bank 2
code-P0222 = throttle position, second track, circuit low
code-P0223 = throttle position, second track, circuit high
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
code-P0316 = misfire in the first 1000 turns after a start
code-P0335 = crank sensor circuit: no teeth while cranking
code-P0336 = crank sensor signal: teeth do not count out, or stand aside
code-P0506 = idle speed lower than expected
code-P0507 = idle speed higher than expected
code-P0562 = system voltage low
code-P0563 = system voltage high
code-P2119 = throttle plate does not follow its command
code-P2122 = pedal position circuit low
code-P2123 = pedal position circuit high
code-P2135 = throttle position tracks disagree
code-P2176 = throttle idle position not learned
code-P0087 = fuel rail pressure too low
code-P268A = injector calibration not programmed
code-P268C = injector data incompatible, cylinder 1
code-P268D = injector data incompatible, cylinder 2
code-P268E = injector data incompatible, cylinder 3
code-P268F = injector data incompatible, cylinder 4

# What is true of a part
is-deposit-um = deposit { $x } µm
is-stop-offset-deg = closed stop { $x }°
is-bore-mm = bore { $x } mm
is-motor-wear-pct = motor worn { $x } %
is-track-wear-pct = track worn { $x } %
is-variant = the maker's other variant
is-gain-pct = gain { $x } %
is-at-3-g-s-pct = besides { $x } % at 3 g/s
is-at-60-g-s-pct = { $x } % at 60 g/s
is-flow-pct = flow { $x } %
is-dead-us = dead time { $x } µs
is-short-pct = short pulses { $x } %
is-clogged-pct = { $x } % clogged
is-drip-mg-s = drips { $x } mg/s
is-strength-pct = { $x } % of a good one
is-gap-mm = gap { $x } mm
is-valves-mm2 = valves leak { $x } mm²
is-rings-mm2 = rings leak { $x } mm²
is-runout-mm = { $x } mm out of true
is-high-deg = furthest at { $x }°
is-hit-tooth = tooth { $x } was hit
is-hit-deg = its edge off by { $x }°
is-sees-deg-mm = sees { $x }° a mm of gap
is-bent = bracket bent
is-inertia-pct = inertia { $x } %
is-masses-pct = moving masses { $x } %
is-ripple-nm = ripple { $x } N·m
is-teeth-late = { $x } teeth late
is-moves-pct = moves { $x } %
is-pressure-pct = pressure { $x } %
is-leak-mm2 = leaks { $x } mm²
is-blocked-pct = { $x } % blocked
is-catalyst-pct = catalyst { $x } % of a new one
is-rated-ah = { $x } Ah
is-cold-a = { $x } A
is-holds-ah = holds { $x } Ah now
is-resistance-mohm = { $x } mΩ
is-charge-pct = charged { $x } %
is-water-lost-g = { $x } g of water gone
is-gives-pct = gives { $x } % of a good one
is-opens-pct = opens { $x } % at least
is-code = code { $x }

# What was said of a part that is fitted
said-number = { $what } { $x }
said-with-unit = { $what } { $x } { $unit }
