### The module on a network

# Opening and closing

net-preparing = Preparing the car: its history is simulated first.
net-open = The module answers on { $address }: DoIP over UDP and TCP (ISO 13400-2), UDS (ISO 14229-1) and J1979.
net-who = Vehicle identification number { $vin }, logical address { $address }.
net-unprotected = Security access protects nothing; its algorithm is in docs/network.md.
net-lan-caution = Every machine on this network can reach the module, and nothing is encrypted. Use it on a network that you trust, and end it with the lesson.
net-hands = Type what is done at the car, one action per line, as in an action file: key = "crank", or load = "lamps"; on = true.
net-stop = Ctrl-C, or a line with the word end, ends it and hands in the attempt.
net-served = { $requests ->
    [one] 1 request answered
   *[other] { $requests } requests answered
}; { $pace } simulated seconds in a second.
net-not-built = this program was built without a network; build it with the feature net
net-no-address = `{ $given }` is not an address with a port, such as 127.0.0.1:13400
net-needs-lan = { $address } can be reached from the network: add --lan to allow this
net-cannot-listen = cannot listen on { $address }: { $why }
net-no-threads = the network cannot be served: { $why }
net-pace = a pace of { $given } cannot be served: 0.1 to 20 simulated seconds in a second
net-line-too-long = that line is too long
net-one-hand = only one action per line

# The table of identifiers

net-table-head = | number | is | in files | bytes | read as | may |
net-part-pid = Parameters of SAE J1979: service 01, and service 22 with F4 before
net-part-live = Live values, own numbers
net-part-learned = Learned values, own numbers
net-part-own = Other values, own numbers
net-part-identity = Identification
net-part-routine = Routines: service 31
net-may-read = read
net-may-read-write = read, write
net-may-read-control = read, control
net-may-start = start
net-may-start-stop = start, stop, results
net-bits-01 = A7 lamp, A0 to A6 confirmed codes; B, C, D monitors
net-bits-02 = code of SAE J2012
net-bits-03 = A bank 1: 01 open loop, cold; 02 closed loop; 04 open loop, driving; 08 open loop, fault. B not used
net-bits-13 = A0 to A3 sensors of bank 1, A4 to A7 of bank 2
net-bits-15 = A / 200 V; B FF: not used for a trim
net-bits-19 = A / 200 V; B FF: not used for a trim
net-bits-1c = 01: OBD II by the Californian rules
net-bits-41 = A 00; B, C, D monitors
net-bits-51 = 01: petrol
net-coding-thousandths = signed / 1000
net-coding-learned = value, default, lower, upper limit, each signed / 1000; 01 learned; who wrote it
net-coding-text = ASCII; 00: none is stored
net-coding-battery = kind; rated, passed, worn out at, in 0.1 Ah (2, 3, 3 bytes); write kind and rated
net-coding-count = number
net-coding-injector = 01 works, 00 cut (service 2F)
net-coding-wheel = error of each edge, signed / 1000 °
net-coding-as-published = as published
net-coding-rpm = speed in rpm; 0 gives the module's own back
net-own-injector-code = correction code of the injector in cylinder n
net-own-battery-record = battery record
net-own-misfires = misfires of cylinder n in this trip
net-own-cut-out = injector of cylinder n
net-own-wheel-table = learned wheel table
net-did-f186 = active diagnostic session
net-did-f18c = module serial number
net-did-f190 = vehicle identification number
net-did-f195 = software version number
net-did-f197 = system name
net-did-f802 = vehicle identification number
net-did-f804 = calibration identification
net-did-f806 = calibration verification number
net-did-f80a = name of the module
net-pid-01 = monitor status since codes were cleared
net-pid-02 = code that stored the freeze frame
net-pid-03 = fuel system status
net-pid-04 = calculated load
net-pid-05 = engine coolant temperature
net-pid-06 = short-term fuel trim, bank 1
net-pid-07 = long-term fuel trim, bank 1
net-pid-08 = short-term fuel trim, bank 2
net-pid-09 = long-term fuel trim, bank 2
net-pid-0b = manifold absolute pressure
net-pid-0c = engine speed
net-pid-0d = vehicle speed
net-pid-0e = ignition timing advance, cylinder 1
net-pid-0f = intake air temperature
net-pid-10 = mass air flow
net-pid-11 = absolute throttle position
net-pid-13 = oxygen sensors fitted
net-pid-15 = oxygen sensor after the catalyst, bank 1
net-pid-19 = oxygen sensor after the catalyst, bank 2
net-pid-1c = OBD requirements the vehicle is designed to
net-pid-1f = time since engine start
net-pid-23 = fuel rail gauge pressure
net-pid-24 = wide-band oxygen sensor, bank 1
net-pid-28 = wide-band oxygen sensor, bank 2
net-pid-2c = commanded EGR
net-pid-2d = EGR error
net-pid-2e = commanded evaporative purge
net-pid-2f = fuel level
net-pid-33 = barometric pressure
net-pid-41 = monitor status in this drive cycle
net-pid-42 = control module voltage
net-pid-44 = commanded equivalence ratio
net-pid-49 = accelerator pedal position
net-pid-51 = fuel type
net-pid-52 = alcohol in the fuel
