using Throughline.Instruments;

namespace Throughline.Firmware;

/// <summary>Makes items of what the file says and of what the instrument says about what they keep.</summary>
internal sealed class SettingsItems(Instrument instrument)
{
    private readonly ArithmeticDesign? _design = ArithmeticDesign.Of(instrument) is { Trouble: null } design ? design : null;
    private readonly HashSet<string> _names = [];

    /// <summary>An item of a record as it is now.</summary>
    public SettingsItem Current(MemoryItem source)
    {
        string name = CodeNames.Unique(source.Name.Value, _names);
        return source.Keeps is { } keeps ? Kept(source, keeps, name) : Own(source, name);
    }

    /// <summary>An item of an older layout: where it says no step, it has that of the item that keeps the same now.</summary>
    public static SettingsItem Older(MemoryItem source, IEnumerable<SettingsItem> now)
    {
        MemoryKind kind = source.Kind?.Value ?? MemoryKind.U8;
        SettingsItem? same = now.FirstOrDefault(i => i.Name == source.Name.Value);
        return new SettingsItem
        {
            Source = source,
            CodeName = CodeNames.Unique(source.Name.Value, []),
            Word = WordOf(kind),
            IsFloat = kind == MemoryKind.F32,
            IsFlag = kind == MemoryKind.Bool,
            Factory = 0,
            Low = long.MinValue,
            High = long.MaxValue,
            Step = source.Step?.Value ?? same?.Step ?? 1,
            Unit = same?.Unit ?? "",
        };
    }

    /// <summary>Where an item of now comes from in an older layout.</summary>
    public static SettingsMove Move(SettingsItem item, IEnumerable<MemoryItem> sources, IEnumerable<SettingsItem> older)
    {
        int index = sources.Select((s, i) => (s, i)).Where(p => p.s.Name.Value == item.Name && p.s.Keeps == item.Source.Keeps).Select(p => p.i).FirstOrDefault(-1);
        if (index < 0)
        {
            return SettingsMove.Factory;
        }

        SettingsItem old = older.ElementAt(index);
        if (old.IsFloat || item.IsFloat)
        {
            // Numbers with a point are taken over as they are or not at all: the code has no arithmetic for them.
            return old.IsFloat && item.IsFloat && old.Step == item.Step ? new SettingsMove(index, 1, 1) : SettingsMove.Factory;
        }

        (long multiply, long divide) = Fraction(old.Step / item.Step);
        return multiply == 0 ? SettingsMove.Factory : new SettingsMove(index, multiply, divide);
    }

    /// <summary>The nearest fraction with a numerator of 30 and a denominator of 31 bits, by continued fractions; 0 / 1 when there is none.</summary>
    internal static (long Multiply, long Divide) Fraction(double ratio)
    {
        const long MostMultiply = 1L << 30;
        const long MostDivide = 1L << 31;
        const double Close = 1e-12;
        (long p0, long q0, long p1, long q1) = (0, 1, 1, 0);
        double rest = ratio;
        for (int i = 0; i < 40 && rest < MostDivide; i++)
        {
            long whole = (long)Math.Floor(rest);
            (long p, long q) = ((whole * p1) + p0, (whole * q1) + q0);
            if (p > MostMultiply || q > MostDivide)
            {
                break;
            }

            (p0, q0, p1, q1) = (p1, q1, p, q);
            double error = Math.Abs(((double)p1 / q1) - ratio);
            if (error <= Close * ratio || rest == whole)
            {
                break;
            }

            rest = 1 / (rest - whole);
        }

        return q1 == 0 || p1 == 0 ? (0, 1) : (p1, q1);
    }

    private static Word WordOf(MemoryKind kind) => kind switch
    {
        MemoryKind.U8 or MemoryKind.Bool => new Word(8, false),
        MemoryKind.I8 => new Word(8, true),
        MemoryKind.U16 => new Word(16, false),
        MemoryKind.I16 => new Word(16, true),
        MemoryKind.I32 => new Word(32, true),
        _ => new Word(32, false),
    };

    private static SettingsItem Own(MemoryItem source, string name)
    {
        MemoryKind kind = source.Kind?.Value ?? MemoryKind.U8;
        Word word = WordOf(kind);
        double step = source.Step?.Value ?? 1;
        double factory = (source.Factory?.Value ?? 0) / step;
        if (kind == MemoryKind.F32)
        {
            // −0 lies below 0 in the order of bits and is 0 all the same.
            float least = source.Accepted is { } a ? (float)(a.Low / step) : float.NegativeInfinity;
            return new SettingsItem
            {
                Source = source,
                CodeName = name,
                Word = word,
                IsFloat = true,
                Factory = BitConverter.SingleToUInt32Bits((float)factory),
                Low = SettingsItem.Rank(BitConverter.SingleToUInt32Bits(least == 0 ? -0f : least)),
                High = SettingsItem.Rank(BitConverter.SingleToUInt32Bits(source.Accepted is { } b ? (float)(b.High / step) : float.PositiveInfinity)),
                Step = step,
                Remark = "bits of a number of IEEE 754",
            };
        }

        bool isFlag = kind == MemoryKind.Bool;
        (Int128 low, Int128 high) = source.Accepted is { } accepted
            ? ((Int128)Math.Ceiling(Near(accepted.Low / step)), (Int128)Math.Floor(Near(accepted.High / step)))
            : isFlag ? (0, 1) : (word.Least, word.Greatest);
        Int128 stored = (Int128)Math.Round(factory, MidpointRounding.AwayFromZero);
        string? trouble = !word.Holds(low, high) ? $"its accepted range takes {Word.BitsFor(low, high)} bits, more than {MemoryWords.WordOf(kind)} has."
            : stored < low || stored > high ? "its factory value is not accepted." : null;
        return new SettingsItem
        {
            Source = source,
            CodeName = name,
            Word = word,
            IsFlag = isFlag,
            Factory = (long)word.Wrap(stored),
            Low = (long)Int128.Clamp(low, word.Least, word.Greatest),
            High = (long)Int128.Clamp(high, word.Least, word.Greatest),
            Step = step,
            Remark = isFlag ? "1 for true, 0 for false" : "",
            Trouble = trouble,
        };
    }

    private SettingsItem Kept(MemoryItem source, MemoryKeeps keeps, string name)
    {
        switch (keeps)
        {
            case MemoryKeeps.Zero:
            case MemoryKeeps.Gain:
                Node? node = keeps == MemoryKeeps.Zero ? _design?.Zero : _design?.Gain;
                return node is null
                    ? Missing(source, name, $"the arithmetic keeps no {MemoryWords.WordOf(keeps)} of a calibration.")
                    : Make(source, name, node.Low, node.High, 0, node.Step, node.Unit, node.Remark);
            case MemoryKeeps.OutputTrimOffset:
            case MemoryKeeps.OutputTrimGain:
                Node? part = keeps == MemoryKeeps.OutputTrimOffset ? OutputTrimDesign.Of(instrument)?.Offset : OutputTrimDesign.Of(instrument)?.Gain;
                return part is null ? Missing(source, name, "the output is not trimmed.") : Make(source, name, part.Low, part.High, 0, part.Step, part.Unit, part.Remark);
            case MemoryKeeps.Language:
                int others = instrument.Panel?.OtherLanguages.Count() ?? 0;
                return others == 0
                    ? Missing(source, name, "the panel has one language.")
                    : Make(source, name, 0, others, 0, 1, "", "0 for that of the screens");
            default:
                int index = MemoryWords.StandardOf(keeps)!.Value;
                if (instrument.Calibration is not { } calibration || index >= calibration.Standards.Length
                    || PanelValues.EntryOf(instrument, PanelSource.FirstStandard + index) is not { } entry)
                {
                    return Missing(source, name, "the calibration has no such standard.");
                }

                double step = entry.Step;
                return Make(
                    source, name, (Int128)Math.Floor(Near(entry.Low / step)), (Int128)Math.Ceiling(Near(entry.High / step)), (Int128)Math.Round(entry.Start / step), step,
                    instrument.Specification.Unit, "as the user has entered it");
        }
    }

    private static SettingsItem Make(MemoryItem source, string name, Int128 low, Int128 high, Int128 factory, double step, string unit, string remark)
    {
        Word word = source.Kind is { } kind ? WordOf(kind.Value) : Word.For(low, high, 64);
        string? trouble = source.Kind is { Value: MemoryKind.F32 or MemoryKind.Bool } ? "it is a whole number, and not kept as one."
            : word.Holds(low, high) ? null
            : FormattableString.Invariant($"it runs from {low} to {high}, which takes {Word.BitsFor(low, high)} bits, more than {MemoryWords.WordOf(source.Kind!.Value.Value)} has.");
        return new SettingsItem
        {
            Source = source,
            CodeName = name,
            Word = word,
            Factory = (long)word.Wrap(factory),
            Low = (long)Int128.Clamp(low, word.Least, word.Greatest),
            High = (long)Int128.Clamp(high, word.Least, word.Greatest),
            Step = step,
            Unit = unit,
            Remark = remark,
            Trouble = trouble ?? (factory < low || factory > high ? "its factory value is not accepted." : null),
        };
    }

    private static SettingsItem Missing(MemoryItem source, string name, string why) => new()
    {
        Source = source,
        CodeName = name,
        Word = new Word(16, true),
        Factory = 0,
        Low = short.MinValue,
        High = short.MaxValue,
        Trouble = why,
    };

    /// <summary>Keeps 4.01 / 0.01 from being 400.99999999999994.</summary>
    private static double Near(double value) => Math.Abs(value - Math.Round(value)) < 1e-9 * Math.Max(1, Math.Abs(value)) ? Math.Round(value) : value;
}
