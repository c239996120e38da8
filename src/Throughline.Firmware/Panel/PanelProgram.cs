using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using Throughline.Analysis;
using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>
/// A panel as whole numbers: texts in the codes of the display, fields with the scales of their values, keys, times in milliseconds. What <see cref="PanelRun"/> runs and what the C code's
/// tables say. Immutable; any thread.
/// </summary>
public sealed class PanelProgram
{
    private static readonly ConditionalWeakTable<Instrument, PanelProgram> Known = [];

    private readonly Instrument _instrument;
    private readonly ArithmeticDesign _arithmetic;
    private readonly List<PanelScale> _scales = [];

    private PanelProgram(Instrument instrument, ArithmeticDesign arithmetic)
    {
        _instrument = instrument;
        _arithmetic = arithmetic;
        Calibration = CalibrationDesign.Of(instrument) is { Trouble: null } calibration ? calibration : null;
        Machine = new PanelMachine(instrument);
        Languages = [null, .. Panel.OtherLanguages];
        Entries =
        [
            .. Machine.Entries.Select(s => PanelProgramEntry.Create(instrument, s) ?? PanelProgramEntry.Nothing(s)),
            .. FurtherEntries().Select(s => PanelProgramEntry.Create(instrument, s)).OfType<PanelProgramEntry>(),
        ];
        OutputTrim = OutputTrimDesign.Of(instrument);
        Output = PanelOutputLine.Create(arithmetic.Law, Entries.FirstOrDefault(e => e.Source == PanelSource.TestCurrent));
        Screens = [.. Panel.Screens.Select((s, i) => ScreenOf(s, i))];
        Scales = [.. _scales];
        IsWide = Scales.Any(s => RangeOf(s.Source) is var (low, high) && !s.FitsNarrow(low, high));
    }

    /// <summary>What it was made of; an index of a screen or a failure is the same in both.</summary>
    public PanelMachine Machine { get; }

    public PanelSection Panel => Machine.Panel;

    internal ArithmeticDesign Arithmetic => _arithmetic;

    /// <summary>The instrument that it is of.</summary>
    public Instrument Instrument => _instrument;

    /// <summary>Null where the user does not calibrate.</summary>
    internal CalibrationDesign? Calibration { get; }

    /// <summary>The screens' own first, which has no name.</summary>
    public ImmutableArray<string?> Languages { get; }

    public ImmutableArray<PanelProgramScreen> Screens { get; }

    public ImmutableArray<PanelScale> Scales { get; }

    /// <summary>Values that can be entered, in the order of <see cref="PanelMachine.Entries"/>, and behind them those that stand as they are.</summary>
    public ImmutableArray<PanelProgramEntry> Entries { get; }

    /// <summary>Whether the digits of a field need more than 32 bits on their way.</summary>
    public bool IsWide { get; }

    /// <summary>Null where the output is not trimmed.</summary>
    internal OutputTrimDesign? OutputTrim { get; }

    /// <summary>Whether the panel has steps of a trim of the output.</summary>
    internal bool HasTrimScreens => Machine.HasTrim && Screens.Any(s => s.Trims >= 0);

    /// <summary>Output code and current; null without an output converter whose codes lie on one straight line with the currents.</summary>
    public PanelOutputLine? Output { get; }

    /// <summary>Whether C can be written of it: no more screens and columns than a byte counts, and a calibration and a trim that are proved.</summary>
    public bool IsCodeKnown => Panel.Screens.Length < byte.MaxValue && Panel.Columns < byte.MaxValue && Panel.Rows < byte.MaxValue && (Machine.Points == 0 || Calibration is { IsSound: true })
        && (OutputTrim is null || OutputTrimProof.Of(OutputTrim).IsSound);

    public int Cells => Panel.Columns * Panel.Rows;

    /// <summary>The program of an instrument; null when its panel does not say what it does, or when there is no arithmetic.</summary>
    public static PanelProgram? Of(Instrument instrument) =>
        instrument.Panel is { IsDescribed: true } && ArithmeticDesign.Of(instrument) is { Trouble: null } arithmetic
            ? Known.GetValue(instrument, i => new PanelProgram(i, arithmetic))
            : null;

    /// <summary>Place in <see cref="Entries"/>; −1 for a value that nobody enters and nothing shows.</summary>
    public int EntryOf(PanelSource source)
    {
        for (int i = 0; i < Entries.Length; i++)
        {
            if (Entries[i].Source == source)
            {
                return i;
            }
        }

        return -1;
    }

    /// <summary>What a standard's value as entered is in steps of the measurand: (entered × factor) / divisor.</summary>
    internal (long Factor, long Divisor) StandardScale(int standard)
    {
        PanelProgramEntry entry = Entries[EntryOf(PanelSource.FirstStandard + standard)];
        (long factor, _, long divisor) = PanelScale.Fraction(entry.Unit / _arithmetic.Measurand.Step, 0, entry.Low, entry.High);
        return (factor, divisor);
    }

    /// <summary>The text that codes of the display look like.</summary>
    public string Decode(ReadOnlySpan<byte> codes)
    {
        Span<char> text = stackalloc char[codes.Length];
        for (int i = 0; i < codes.Length; i++)
        {
            text[i] = PanelCharacters.Decode(Panel.Characters, codes[i]);
        }

        return new string(text);
    }

    /// <summary>One step of a source's number in the unit in which it is shown, and what the number 0 is in that unit; null for what there is not.</summary>
    internal (double Step, double Offset)? UnitOf(PanelSource source)
    {
        double shown = PanelValues.Scale(_instrument, source);
        switch (source)
        {
            case PanelSource.Measurand:
                return ((_arithmetic.Shown ?? _arithmetic.Measurand).Step, 0);
            case PanelSource.Temperature:
                return (ArithmeticDesign.TemperatureStep, 0);
            case PanelSource.LoopCurrent:
                return Output is { } line ? (line.ValuePerStep * shown, line.ValueAtZero * shown) : null;
            case PanelSource.Signal when _arithmetic.Signal is { } signal:
                return (signal.Step * shown, 0);
            case PanelSource.Signal:
                ChainLaw law = _arithmetic.Law;
                double slope = (law.SignalOfCode(law.GreatestCode) - law.SignalOfCode(law.LeastCode)) / (law.GreatestCode - law.LeastCode);
                return (slope * _arithmetic.Sum.Step * shown, (law.SignalOfCode(law.LeastCode) - (slope * law.LeastCode)) * shown);
            case PanelSource.Slope:
                return (CalibrationDesign.SlopeStep * shown, 0);
            case PanelSource.Zero:
                return Calibration is { } calibration ? (calibration.ZeroStep * shown, 0) : null;
            case PanelSource.SecondsLeft or PanelSource.SecondsSteady:
                return (1, 0);
            default:
                return EntryOf(source) is >= 0 and int entry ? (Entries[entry].Unit, 0) : null;
        }
    }

    /// <summary>Least and greatest number of a source; null for what there is not.</summary>
    internal (long Low, long High)? RangeOf(PanelSource source) => source switch
    {
        PanelSource.Measurand => Of(_arithmetic.Shown ?? _arithmetic.Measurand),
        PanelSource.Temperature => _arithmetic.Temperature is { } t ? Of(t) : (AssumedTemperature, AssumedTemperature),
        PanelSource.LoopCurrent => Output is { } line ? (0, line.GreatestStep) : null,
        PanelSource.Signal => Of(_arithmetic.Signal ?? _arithmetic.Sum),
        PanelSource.Slope => Calibration is { } c ? Of(c.ShownSlope) : null,
        PanelSource.Zero => Calibration is { } c ? Of(c.ShownZero) : null,
        PanelSource.SecondsLeft or PanelSource.SecondsSteady => (0, ushort.MaxValue),
        _ => EntryOf(source) is >= 0 and int entry ? (Entries[entry].Low, Entries[entry].High) : null,
    };

    /// <summary>The temperature that is shown where none is measured, 0.01 °C.</summary>
    internal long AssumedTemperature => (long)Math.Round((_arithmetic.Law.Arithmetic.AssumedTemperature?.Value ?? UnitState.ReferenceCelsius) / ArithmeticDesign.TemperatureStep);

    private static (long, long) Of(Node node) => ((long)node.Low, (long)node.High);

    private IEnumerable<PanelSource> FurtherEntries()
    {
        IEnumerable<PanelSource> shown = Panel.Screens.SelectMany(s => s.Shows).Select(s => s.Value).Where(PanelWords.IsEntered);
        IEnumerable<PanelSource> trimmed = Panel.Screens.Any(s => s.Trims is not null) ? [PanelSource.OutputTrimLow, PanelSource.OutputTrimHigh] : [];
        return Enumerable.Range(0, Machine.Points).Select(i => PanelSource.FirstStandard + i).Concat(shown).Concat(trimmed).Distinct().Except(Machine.Entries);
    }

    private PanelProgramScreen ScreenOf(PanelScreen screen, int index)
    {
        ImmutableArray<PanelProgramPage>.Builder pages = ImmutableArray.CreateBuilder<PanelProgramPage>();
        foreach (string? language in Languages)
        {
            PanelTranslation? translation = screen.Translations.FirstOrDefault(t => t.Language.Value == language);
            pages.Add(PageOf(new PanelPage(
                screen, language, translation?.Lines ?? screen.Lines, translation is { Shows.IsEmpty: false } ? translation.Shows : screen.Shows, [])));
        }

        return new PanelProgramScreen
        {
            Pages = pages.ToImmutable(),
            Keys = [.. Enumerable.Range(0, Panel.Keys).Select(k => StepOf(Machine.ActionOf(index, k)))],
            OnSteady = StepOf(screen.OnSteady),
            AfterMilliseconds = screen.After is { } after ? Milliseconds(after.Time.Value) : 0,
            AfterScreen = screen.After is { } then ? Machine.IndexOf(then.Screen.Value) : -1,
            TakenScreen = screen.OnTaken is { } taken ? Machine.IndexOf(taken.Value) : -1,
            AcceptedScreen = screen.OnAccepted is { } accepted ? Machine.IndexOf(accepted.Value) : Machine.Measuring,
            RefusedScreen = screen.OnRefused is { } refused ? Machine.IndexOf(refused.Value) : Machine.Measuring,
            Standard = screen.Calibrates is { } calibrates ? calibrates.Value : -1,
            Entry = Machine.EntryOf(index),
            Trims = screen.Trims ?? -1,
            Loop = screen.Loop,
        };
    }

    private PanelStep StepOf(PanelAction? action) => action is null ? default : action.Kind switch
    {
        PanelActionKind.Go => new PanelStep(PanelStepKind.Go, Machine.IndexOf(action.Text.Value)),
        PanelActionKind.Up => new PanelStep(PanelStepKind.Up, 0),
        PanelActionKind.Down => new PanelStep(PanelStepKind.Down, 0),
        PanelActionKind.Take => new PanelStep(PanelStepKind.Take, 0),
        PanelActionKind.Restore => new PanelStep(PanelStepKind.Restore, 0),
        _ => new PanelStep(PanelStepKind.Language, 0),
    };

    /// <summary>A time of nothing would never be over: the least is a millisecond.</summary>
    private static long Milliseconds(double seconds) => (long)Math.Clamp(Math.Round(seconds * 1000), 1, int.MaxValue);

    private PanelProgramPage PageOf(PanelPage page)
    {
        byte[] text = new byte[Cells];
        Array.Fill(text, PanelCharacters.Space);
        ImmutableArray<PanelProgramField>.Builder fields = ImmutableArray.CreateBuilder<PanelProgramField>();
        int next = 0;
        for (int row = 0; row < page.Lines.Length; row++)
        {
            string line = page.Lines[row].Value;
            for (int column = 0; row < Panel.Rows && column < Math.Min(line.Length, Panel.Columns); column++)
            {
                text[(row * Panel.Columns) + column] = PanelCharacters.Encode(Panel.Characters, line[column]);
            }

            foreach (PanelField field in PanelField.In(line))
            {
                // A field that has no room on the display, or nothing to show, stays what its line says.
                PanelSource? source = next < page.Shows.Length ? page.Shows[next].Value : null;
                next++;
                if (source is { } shown && row < Panel.Rows && field.Column + field.Width <= Panel.Columns)
                {
                    fields.Add(new PanelProgramField(row, field.Column, field.Width, field.Decimals, ScaleOf(shown, field)));
                }
            }
        }

        return new PanelProgramPage([.. text], fields.ToImmutable());
    }

    /// <summary>Place of a field's scale in the table, −1 where there is nothing to show but dashes.</summary>
    private int ScaleOf(PanelSource source, PanelField field)
    {
        if (UnitOf(source) is not var (step, offset) || RangeOf(source) is not var (low, high) || low < int.MinValue + 1 || high > int.MaxValue)
        {
            return -1;
        }

        PanelScale scale = PanelScale.Create(source, field, step, offset, low, high);
        int index = _scales.IndexOf(scale);
        if (index < 0)
        {
            index = _scales.Count;
            _scales.Add(scale);
        }

        return index;
    }
}
