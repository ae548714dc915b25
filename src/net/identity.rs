//! The identity of the module: addresses and invented identification of the car.
//!
//! *Inside*: logical addresses, a vehicle identification number that no manufacturer can have, calibration and its
//! checksum.

use crate::bench::record::hash_of_text;

/// Logical address of the module, which is also the DoIP entity.
pub const MODULE: u16 = 0x1000;
/// Functional address of all emissions-related modules (ISO 13400-2, table 13, from memory).
pub const FUNCTIONAL: u16 = 0xE000;

/// What identifies a car and its module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity {
    /// Vehicle identification number: world manufacturer identifier `0DW`; no region of ISO 3780 has its first
    /// character.
    pub vin: String,
    /// Calibration identification, at most 16 characters.
    pub calibration: String,
    /// Calibration verification number, computed from the car's file.
    pub check: [u8; 4],
    /// Entity identification, in the form of a locally administered MAC address.
    pub eid: [u8; 6],
    /// Name of the module, at most 20 characters.
    pub name: String,
}

impl Identity {
    /// The identity of a car from its short name and its file; `number` distinguishes cars of one kind.
    pub fn of(car: &str, file: &str, number: u32) -> Self {
        let hash = hash_of_text(file);
        let byte = |k: usize| u8::from_str_radix(&hash[2 * k..2 * k + 2], 16).unwrap_or(0);
        // the letters I, O and Q are not allowed in such a number
        let letters = car.to_ascii_uppercase();
        let letters: String = letters
            .chars()
            .map(|c| match c {
                'I' => '1',
                'O' | 'Q' => '0',
                c => c,
            })
            .collect();
        let mut vin = format!("0DW{:0<5.5}0XW{:06}", letters, number % 1_000_000);
        vin.replace_range(8..9, &check_digit(&vin).to_string());
        let n = number.to_be_bytes();
        Self {
            vin,
            calibration: format!("IW-{:.8}-01", car.to_ascii_uppercase()),
            check: [byte(0), byte(1), byte(2), byte(3)],
            eid: [0x02, byte(4), byte(5), n[1], n[2], n[3]],
            name: "ECM-EngineControl".into(),
        }
    }
}

/// The check digit in position nine: values by letter, weights by position, remainder modulo 11 (49 CFR 565.15, from
/// memory).
fn check_digit(vin: &str) -> char {
    const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];
    let value = |c: char| match c {
        '0'..='9' => u32::from(c) - u32::from('0'),
        'A'..='H' => u32::from(c) - u32::from('A') + 1,
        'J'..='R' => u32::from(c) - u32::from('J') + 1,
        'S'..='Z' => u32::from(c) - u32::from('S') + 2,
        _ => 0,
    };
    let sum: u32 = vin.chars().zip(WEIGHTS).map(|(c, w)| value(c) * w).sum();
    char::from_digit(sum % 11, 10).unwrap_or('X')
}
