using Throughline.Analysis;
using Throughline.Firmware.Tests.Arithmetic;
using Throughline.Instruments;
using Throughline.Testing;
using Xunit;

namespace Throughline.Firmware.Tests.Calibration;

/// <summary>What the checks say can be done again.</summary>
public sealed class CalibrationChecksTests
{
    private static Instrument Flawed(string file) => Assert.IsType<Instrument>(InstrumentReader.ReadFile(Repository.PathOf("demo", "nutrient-ph", "flawed", file)).Value);

    private static Finding Of(Instrument instrument, string check) => Assert.Single(new FirmwareChecks().Run(instrument), f => f.Check == check);

    [Fact] // Property: the keys that the finding tells, pressed on the played panel, move the reading by what it says
    public void EditingAStandard_UsedAtOnce_MovesTheReadingByTheKeysThatAreTold()
    {
        Instrument instrument = Flawed("57-entry-at-once.yaml");
        Finding finding = Of(instrument, "editing a standard leaves the reading");
        Assert.Equal(Outcome.NotMet, finding.Outcome);
        const string Told = "Shown after a calibration by: ";
        string keys = finding.Statement[(finding.Statement.IndexOf(Told, StringComparison.Ordinal) + Told.Length)..^1];
        double moved = finding.Figures.First(f => f.Name == "reading moved by one step").Value;
        Assert.Equal(moved, Play(instrument, keys), moved / 10);
        Assert.Equal(0, Play(Sketches.Demo("nutrient-ph"), keys), 1e-9);
    }

    private static double Play(Instrument instrument, string keys)
    {
        PanelScript script = new(new PanelPlayer(instrument));
        void Do(params string[] steps) => Assert.All(steps, s => Assert.Null(script.Do(s)));
        Do("MENU", "CAL", "sensor first standard", "reading steady", "SET", "sensor second standard", "reading steady", "SET", "OK", "sensor 7.00", "wait 60 s");
        double before = script.Player.Engine.Measurand;
        Do(keys.Split(" · "));
        Do("STOP", "wait 60 s");
        return Math.Abs(script.Player.Engine.Measurand - before);
    }

    [Fact]
    public void CalibrationOverflow_OfTooManyPlaces_NamesATakingThatBreaksTheWord()
    {
        CalibrationDesign design = CalibrationDesign.Of(Flawed("59-narrow-ratio.yaml"))!;
        CalibrationOverflow overflow = CalibrationProof.Of(design).Overflows[0];
        Int128[] exact = new Int128[design.Program.Nodes.Count];
        Int128[] inWords = new Int128[exact.Length];
        Assert.True(design.Run(overflow.First!, exact, inWords: false));
        design.Run(overflow.First!, inWords, inWords: true);
        Assert.Equal(overflow.Exact, exact[overflow.Node.Index]);
        Assert.Equal(overflow.InWord, inWords[overflow.Node.Index]);
        Assert.NotEqual(overflow.Exact, overflow.InWord);
        Assert.Throws<ArgumentException>(() => CalibrationCode.Write(design));
        Assert.DoesNotContain(FirmwareCode.Of(design.Law.Instrument).Files, f => f.Name.StartsWith("calibration", StringComparison.Ordinal));
    }

    [Fact]
    public void DivisionByZero_OfBuffersThatMayMeet_NamesTheTwoEntries()
    {
        Instrument instrument = Flawed("56-equal-buffers.yaml");
        CalibrationDesign design = CalibrationDesign.Of(instrument)!;
        Assert.False(design.Run(CalibrationProof.Of(design).ZeroDivisor!.Value.First, new Int128[design.Program.Nodes.Count], inWords: false));
        Assert.Matches(@"6\.75\spH entered for the first and 6\.75\spH for the second", Of(instrument, "division by zero").Statement);
    }

    [Theory] // Property: the taking that a rounding finding names is accepted and lies off by what it says
    [InlineData("58-coarse-gain.yaml")]
    [InlineData("60-near-buffers.yaml")]
    public void CalibrationRounding_WhereItIsTooMuch_NamesATakingThatShowsIt(string file)
    {
        CalibrationDesign design = CalibrationDesign.Of(Flawed(file))!;
        CalibrationProof proof = CalibrationProof.Of(design);
        Assert.True(design.Judge(proof.WorstTaking!).IsAccepted);
        Assert.True(proof.Worst > design.Allowed);
    }
}
