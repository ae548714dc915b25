//! The machine's sound card.
//!
//! *Inside*: opening it, on a thread of its own, which ends with it. *Outside*: what is played
//! ([`idlewright::window::loudspeaker`]), whether somebody wants to hear it (the settings).

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{Device, FromSample, SampleFormat, SizedSample, Stream, StreamConfig};
use idlewright::session::live::{Live, Tube};
use idlewright::window::loudspeaker::{Knob, Player};
use idlewright::window::panels::Plays;
use idlewright::words::say;
use std::sync::mpsc::{Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};

/// The sound card, once somebody wanted to hear the engine; or why there is none.
#[derive(Default)]
pub struct Ears(Option<Result<Loudspeaker, String>>);

impl Ears {
    /// Opens the card when somebody wants to hear the engine at a volume \[%\], closes it when nobody does any more.
    /// Where there is none, work goes on in silence; it is looked for again when the setting is switched on again.
    pub fn attend(&mut self, volume_pct: Option<u8>, live: &Live) {
        let Some(percent) = volume_pct else {
            self.0 = None;
            return live.sound_into(None);
        };
        let card = self.0.get_or_insert_with(|| Loudspeaker::open(percent));
        if let Some(why) = card.as_ref().ok().and_then(Loudspeaker::fails) {
            *card = Err(why);
        }
        if let Ok(open) = card {
            open.knob.turn(percent);
        }
        live.sound_into(card.as_ref().ok().map(|open| &open.tube));
    }
    /// Whether sound can be played, as far as is known.
    pub fn plays(&self) -> Plays<'_> {
        match &self.0 {
            Some(Err(why)) => Plays::Fails(why),
            _ => Plays::Yes,
        }
    }
}

/// An open card that plays what comes through its tube; silent when dropped.
struct Loudspeaker {
    tube: Arc<Tube>,
    knob: Arc<Knob>,
    fails: Arc<Mutex<Option<String>>>,
    /// The thread that holds the card ends with this.
    _ends: Sender<()>,
}

impl Loudspeaker {
    /// Opens the card that the system plays on by default; an error says in words why there is none.
    fn open(percent: u8) -> Result<Self, String> {
        let (tube, knob) = (Arc::new(Tube::default()), Arc::new(Knob::new(percent)));
        let fails = Arc::new(Mutex::new(None));
        let (ends, until) = channel::<()>();
        let (tell, told) = channel();
        let (theirs, turned, failed) = (Arc::clone(&tube), Arc::clone(&knob), Arc::clone(&fails));
        // on some systems a stream may not leave the thread that opened it
        let thread = std::thread::Builder::new().name("sound".into()).spawn(move || {
            let stream = stream(&theirs, &turned, &failed);
            let _ = tell.send(stream.as_ref().map(drop).map_err(Clone::clone));
            if stream.is_ok() {
                // until the other end is dropped
                let _ = until.recv();
            }
        });
        thread.map_err(|e| e.to_string())?;
        told.recv().map_err(|e| e.to_string())??;
        Ok(Self { tube, knob, fails, _ends: ends })
    }
    /// Why it no longer plays, if it was taken away meanwhile.
    fn fails(&self) -> Option<String> {
        self.fails.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

/// Opens the card and lets it play.
fn stream(tube: &Arc<Tube>, knob: &Arc<Knob>, fails: &Arc<Mutex<Option<String>>>) -> Result<Stream, String> {
    let device = cpal::default_host().default_output_device().ok_or_else(|| say("settings-sound-none"))?;
    let offered = device.default_output_config().map_err(|e| e.to_string())?;
    let config = offered.config();
    let player = Player::new(Arc::clone(tube), Arc::clone(knob), config.sample_rate, config.channels);
    let play = match offered.sample_format() {
        SampleFormat::F32 => plays::<f32>,
        SampleFormat::I16 => plays::<i16>,
        SampleFormat::U16 => plays::<u16>,
        SampleFormat::I32 => plays::<i32>,
        other => return Err(other.to_string()),
    };
    let stream = play(&device, config, player, Arc::clone(fails)).map_err(|e| e.to_string())?;
    stream.play().map_err(|e| e.to_string())?;
    Ok(stream)
}

/// A stream of one kind of samples.
fn plays<T: SizedSample + FromSample<f32>>(
    device: &Device,
    config: StreamConfig,
    mut player: Player,
    fails: Arc<Mutex<Option<String>>>,
) -> Result<Stream, cpal::Error> {
    let mut shares = Vec::new();
    device.build_output_stream(
        config,
        move |out: &mut [T], _: &cpal::OutputCallbackInfo| {
            shares.resize(out.len(), 0.0_f32);
            player.fill(&mut shares);
            for (out, share) in out.iter_mut().zip(&shares) {
                *out = T::from_sample(*share);
            }
        },
        move |e: cpal::Error| {
            use cpal::ErrorKind::{DeviceChanged, RealtimeDenied, Xrun};
            // it plays on after a gap, on another device, or without priority
            if !matches!(e.kind(), DeviceChanged | RealtimeDenied | Xrun) {
                *fails.lock().unwrap_or_else(PoisonError::into_inner) = Some(e.to_string());
            }
        },
        None,
    )
}
