# What can hurt, and what is done about it: one sentence to a key of the catalogue (`catalogue/cautions.rs`).

caution-carbon-monoxide = Exhaust gas contains carbon monoxide, which kills unnoticed: switch extraction on before the engine starts.
caution-moving-parts = Keep hands, hair, clothing and leads clear of belts and fans; a fan can start without warning.
caution-hot-parts = Engine, exhaust and catalyst burn skin and can start fires long after the engine has stopped: let them cool.
caution-hot-coolant = Hot coolant is under pressure: let it cool before the cooling system is opened.
caution-hot-oil = Hot engine oil burns skin: let the engine cool before an oil passage or cover is opened.
caution-fuel-pressure = Fuel stays under pressure after the engine has stopped: relieve it by the vehicle maker's procedure and check that it is gone before you open a joint; eye protection, no sparks. A direct-injection jet goes through skin: see a doctor at once.
caution-fuel-vapour = Fuel vapour ignites: no sparks, flames or hot lamps; ventilate. Open the fuel filler cap slowly.
caution-ignition-voltage = Ignition coils make voltages that can kill: key off before a coil, lead or plug is touched.
caution-battery-acid = Battery acid burns: eye protection, gloves, water ready.
caution-battery-hydrogen = A battery gives off hydrogen, which explodes: ventilate, no sparks, no smoking.
caution-battery-leads = Key off before the battery is disconnected, never with the engine running: the alternator's voltage peak can destroy modules. Disconnect the earth lead first and connect it last.
caution-charger = Charger off before its clamps go on or come off; positive clamp on the battery, negative clamp where the vehicle maker says. Only a charger meant for the battery's type. Never charge a frozen or damaged battery.
caution-damaged-battery = A hot, swollen or leaking battery may burst and spray acid: no charging, no test under load; stand back and let it cool.
caution-throttle-plate = A powered throttle plate moves without warning, above all while it learns its stop: key off and module asleep before a finger goes near.
caution-connectors = Key off before a connector is disconnected; battery off too before the module is disconnected.
caution-drive-belt = Engine stopped and key off before touching the belt or a pulley.
caution-cam-drive = Camshaft drive open: key and battery off; set the timing by the vehicle maker's procedure and tools. Valves can strike pistons: turn the engine two full revolutions by hand before using the starter.
caution-cranking = Cranking with plugs out: fuel and ignition disabled, no sparks near the plug holes, hands clear.
caution-air-turns-engine = Compressed air in a cylinder can turn the crankshaft suddenly: ignition and injectors disabled; hands, clothing and tools clear of belt, fan and crankshaft, no wrench left on its bolt; hold the crankshaft only as the vehicle maker says. Raise the pressure slowly; eye protection.
caution-lifted-car = Never work under a car that only a jack holds: use a lift or axle stands.
caution-car-in-gear = A car in gear drives off: parking brake on, wheels chocked, nobody in front of it.
caution-creeps-in-gear = A high idle makes a car creep in gear: select park, parking brake on, wheels chocked.
caution-high-revs = Before engine speed is raised: select park, parking brake on, wheels chocked, bonnet closed, people clear; release the pedal at once when told.
caution-rollers = On the rollers: car strapped down, people clear, a second person operates the instruments.
caution-road-work = On the road the driver only drives; a second person operates the instruments.
caution-stalls-on-the-road = An engine that stalls on the road takes power steering and brake servo with it.
caution-misfire-heat = A cylinder with fuel but no spark overheats the catalyst. Run it like that for a few seconds only, at light load; stop if the lamp flashes.
caution-lamp-flashes = A flashing lamp means: reduce load at once, or the catalyst overheats.
caution-steady-supply = Write to the module with the engine off and a battery support unit connected.
caution-who-decides = The vehicle maker's current procedure, local codes and licensed practice, workplace rules and the instructor take precedence.
caution-shown-on-a-car = This is a simplified model of made-up cars: competence on a car must be shown on a car.

cautions-heading = Cautions for the real workshop
cautions-always = In every case
# before an act of an action file, on the command line
cautions-at-act = { $act }: { $caution }
