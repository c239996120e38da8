using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;

namespace Throughline.Firmware.Tests.Settings;

/// <summary>Settings memories that the tests share.</summary>
internal static class MemorySketches
{
    public const string Sound = """
        size: 128 B
          endurance: 100 k writes
          records:
            first:
              version: 2
              written: every 1 day
              items:
                - { name: offset, kind: i32, accepted: −1000000 .. 1000000 }
                - { name: span, kind: u16, factory: 10000, accepted: 5000 .. 20000 }
              older:
                - { version: 1, items: [{ name: span, kind: u8, step: 100 }, { name: offset, kind: i16, step: 10 }] }
            second:
              written: 10 per day
              items:
                - { name: alarm on, kind: bool, factory: true }
                - { name: weight, kind: f32, factory: 1.5, accepted: 0 .. 100 }
                - { name: level, kind: i8, factory: −5, accepted: −100 .. 100 }
        """;

    /// <summary>A platinum thermometer with a settings memory.</summary>
    public static SettingsLayout Layout(string memory) => SettingsLayout.Of(Instrument(memory))!;

    public static Instrument Instrument(string memory) => Sketches.Read($"""
        instrument: Platinum
        specification:
          measurand: temperature
          unit: °C
          range: −200 .. 800 °C
          display: {"{ step: 0.1 °C, error: ±1 °C }"}
        sensor:
          kind: platinum resistance
          element: Pt100
          wires: 2
          between: [s, 0V]
        memory:
          {memory}
        """);
}
