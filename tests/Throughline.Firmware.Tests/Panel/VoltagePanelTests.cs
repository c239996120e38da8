using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.Panel;

/// <summary>The panel of an instrument that puts out a voltage: its output test, its failure, and its trim at two voltages.</summary>
public sealed class VoltagePanelTests
{
    /// <summary>The duct transmitter with its output trimmed at 1 and 10 V.</summary>
    private static Instrument Trimmed()
    {
        string file = Repository.PathOf("demo", "duct-temperature", "instrument.yaml");
        string text = File.ReadAllText(file)
            .Replace("  noise: 30 mV\n", "  noise: 30 mV\n  trim: { low: 1 V, high: 10 V, meter: 4.5 digit, accept: ±0.2 V }\n", StringComparison.Ordinal)
            .Replace("        - \"            TEST\"\n      shows: [measurand, output voltage]\n      keys: { TEST: output test }", "        - \"TRIM        TEST\"\n      shows: [measurand, output voltage]\n      keys: [TRIM: low, none, none, TEST: output test]", StringComparison.Ordinal)
            + "    low:\n      lines: [\"Meter   ##.### V\", \"STOP  -   +  SET\"]\n      shows: [output trim low]\n      enters: output trim low\n      keys: { STOP: measuring, \"-\": down, \"+\": up, SET: take }\n      on: { taken: high }\n      after: { 10 min: measuring }\n"
            + "    high:\n      lines: [\"Meter   ##.### V\", \"STOP  -   +  SET\"]\n      shows: [output trim high]\n      enters: output trim high\n      keys: { STOP: measuring, \"-\": down, \"+\": up, SET: take }\n      after: { 10 min: measuring }\n"
            + "memory:\n  size: 64 B\n  endurance: 100 k writes\n  items: [{ keeps: output trim offset }, { keeps: output trim gain }]\n";
        Parsed<Instrument> read = InstrumentReader.ReadText(file, text, Path.GetDirectoryName(file));
        Assert.Empty(read.Diagnostics.Select(d => $"{d.Span.Line}: {d.Message} {d.Found}"));
        return read.Value!;
    }

    private static PanelScript Script(Instrument instrument)
    {
        PanelScript script = new(new PanelPlayer(instrument));
        Do(script, "sensor 20", "wait 60 s");
        return script;
    }

    private static void Do(PanelScript script, params string[] steps)
    {
        foreach (string step in steps)
        {
            Assert.Null(script.Do(step));
        }
    }

    [Fact] // 20 °C is half of −20 to 60 °C: 5 V of 10 V
    public void Measuring_ShowsTheVoltage_ThatIsPutOut()
    {
        PanelScript script = Script(Sketches.Demo("duct-temperature"));
        Assert.Equal(5.0, script.Player.LoopValue, 0.02);
        Assert.Matches(@"^ ?20\.[01] °C  5\.0[01] V$", script.Player.Lines[0].Trim());
        Assert.Contains("5.0", script.Player.Beside(), StringComparison.Ordinal);
        Assert.DoesNotContain("mA", script.Player.Beside(), StringComparison.Ordinal);
    }

    [Fact] // Begins at the start of the scale, 0 V; steps of 0.1 V; ends at 10.5 V
    public void OutputTest_GivesWhatIsEntered_InTenthsOfAVolt()
    {
        PanelScript script = Script(Sketches.Demo("duct-temperature"));
        Do(script, "TEST", "wait 1 s");
        Assert.StartsWith("Test  0.0 V", script.Player.Lines[0], StringComparison.Ordinal);
        Assert.Equal(0, script.Player.LoopValue, 5e-3);
        for (int i = 0; i < 25; i++)
        {
            Do(script, "+");
        }

        Do(script, "wait 1 s");
        Assert.StartsWith("Test  2.5 V", script.Player.Lines[0], StringComparison.Ordinal);
        Assert.Equal(2.5, script.Player.LoopValue, 5e-3);
        for (int i = 0; i < 200; i++)
        {
            Do(script, "+");
        }

        Do(script, "wait 1 s");
        Assert.Equal(10.5, script.Player.LoopValue, 5e-3);
    }

    [Fact]
    public void BrokenSensor_GivesTheFailureVoltage()
    {
        PanelScript script = Script(Sketches.Demo("duct-temperature"));
        Do(script, "sensor broken", "wait 60 s");
        Assert.Equal("no sensor", script.Player.Screen);
        Assert.Equal(11.5, script.Player.LoopValue, 10e-3);
    }

    // The line through two points: what shows 1.010 V for 1 V and 9.980 V for 10 V shows 5.495 V for 5.5 V, and the trim takes it away: asked for 5 V, the code becomes that of
    // 1 + (5 − 1.010) · 9 / 8.970 = 5.0033 V, 1.1 codes of 3.07 mV higher.
    [Fact]
    public void Trim_AtTwoVoltages_TurnsTheLine()
    {
        PanelScript script = Script(Trimmed());
        long before = script.Player.Engine.OutputCode;
        Do(script, "TRIM", "wait 1 s");
        Assert.Equal("Meter    1.000 V", script.Player.Lines[0]);
        Assert.Equal(1.0, script.Player.LoopValue, 5e-3);
        for (int i = 0; i < 10; i++)
        {
            Do(script, "+");
        }

        Do(script, "SET", "wait 1 s");
        Assert.Equal("Meter   10.000 V", script.Player.Lines[0]);
        Assert.Equal(10.0, script.Player.LoopValue, 5e-3);
        for (int i = 0; i < 20; i++)
        {
            Do(script, "-");
        }

        Do(script, "SET", "wait 60 s");
        Assert.Equal("measuring", script.Player.Screen);
        Assert.InRange(script.Player.Engine.OutputCode - before, 0, 2);
        Assert.NotEqual((0L, 0L), (script.Player.Engine.Kept.TrimOffset, script.Player.Engine.Kept.TrimGain));
    }

    [Fact]
    public void Code_OfAVoltage_SaysVolts()
    {
        string all = string.Join("\n", FirmwareCode.Of(Trimmed()).Files.Select(f => f.Text));
        Assert.Contains("code_of_voltage", all, StringComparison.Ordinal);
        Assert.Contains("PANEL_ENTRY_TEST_VOLTAGE", all, StringComparison.Ordinal);
        Assert.Contains("the trim of the output at two voltages", all, StringComparison.Ordinal);
        Assert.DoesNotContain("mA", all, StringComparison.Ordinal);
        Assert.DoesNotContain("the loop", all, StringComparison.Ordinal);
    }
}
