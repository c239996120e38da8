using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>What the law of a slot comes to, so that a block of units need not ask it unit by unit.</summary>
internal enum SlotFormKind
{
    /// <summary>The same number in every unit, always.</summary>
    Constant,

    /// <summary>a + b · parameter.</summary>
    Affine,

    /// <summary>a + b · parameter + (c + d · parameter) · position of a trimmer, but not below a floor.</summary>
    Trimmer,

    /// <summary>(a + b · parameter + c · another) times a function of one temperature: currents that double every few kelvin.</summary>
    Separable,

    /// <summary>A straight line over the measurand, whose ends are asked unit by unit.</summary>
    LineOverMeasurand,

    /// <summary>The output converter, see <see cref="OutputConverterLaw"/>.</summary>
    Drive,

    /// <summary>Anything else: asked unit by unit.</summary>
    General,
}

/// <summary>
/// The form of a slot's law, found by trying it: laws have no memory and read only a unit's state. Whatever does not fit a simple form to the last digits,
/// at points that had no part in finding it, is general.
/// </summary>
/// <param name="Trimmer">Of a separable form, the other parameter.</param>
/// <param name="Depends">Conditions that the law reads.</param>
internal sealed record SlotForm(Binding Binding, SlotFormKind Kind, int Parameter, int Trimmer, double A, double B, double C, double D, HashSet<UnitState.Of> Depends)
{
    private const double Fits = 1e-13;

    /// <summary>Least value, for a trimmer at the end of its travel.</summary>
    public double Floor { get; private init; } = double.NegativeInfinity;

    public static SlotForm Find(Binding binding, UnitState sample, Model model)
    {
        HashSet<UnitState.Of> depends = DependsOn(binding.Law, sample);
        SlotForm general = new(binding, SlotFormKind.General, -1, -1, 0, 0, 0, 0, depends);
        if (ReferenceEquals(binding.Law, model.OutputConverterLaw?.Law))
        {
            return general with { Kind = SlotFormKind.Drive };
        }

        if (depends.Contains(UnitState.Of.Measurand) && binding.Trimmers.Length == 0 && IsLineOverMeasurand(binding.Law, sample, model.Instrument.Specification))
        {
            return general with { Kind = SlotFormKind.LineOverMeasurand };
        }

        if (depends.Count == 1 && depends.First() is UnitState.Of.Ambient or UnitState.Of.Process && binding.Trimmers.Length == 0
            && FindSeparable(general, depends.First(), sample, model) is { } separable)
        {
            return separable;
        }

        if (depends.Count > 0 || binding.Parameters.Length > 1 || binding.Trimmers.Length > 1)
        {
            return general;
        }

        int parameter = binding.Parameters.Length == 1 ? binding.Parameters[0] : -1;
        int trimmer = binding.Trimmers.Length == 1 ? binding.Trimmers[0] : -1;
        double keptValue = parameter >= 0 ? sample.Values[parameter] : 0;
        double keptPosition = trimmer >= 0 ? sample.Positions[trimmer] : 0;
        double low = parameter >= 0 ? model.Parameters.Low(parameter) : 0;
        double high = parameter >= 0 ? model.Parameters.High(parameter) : 1;
        if (!(high > low))
        {
            high = low + Math.Max(Math.Abs(low) * 0.01, 1e-9);
        }

        SlotForm found = Fit();
        if (parameter >= 0)
        {
            sample.Values[parameter] = keptValue;
        }

        if (trimmer >= 0)
        {
            sample.Positions[trimmer] = keptPosition;
        }

        return found;

        double At(double value, double position)
        {
            if (parameter >= 0)
            {
                sample.Values[parameter] = value;
            }

            if (trimmer >= 0)
            {
                sample.Positions[trimmer] = position;
            }

            return binding.Law(sample);
        }

        SlotForm Fit()
        {
            if (parameter < 0 && trimmer < 0)
            {
                return general with { Kind = SlotFormKind.Constant, A = binding.Law(sample) };
            }

            // A law that gives the parameter itself must give it to the last bit.
            if (parameter >= 0 && trimmer < 0 && At(low, 0) == low && At(high, 0) == high && At(keptValue, 0) == keptValue)
            {
                return general with { Kind = SlotFormKind.Affine, Parameter = parameter, B = 1 };
            }

            double f00 = At(low, 0.25);
            double f10 = At(high, 0.25);
            double f01 = At(low, 0.75);
            double f11 = At(high, 0.75);
            double d = (f11 - f10 - f01 + f00) / ((high - low) * 0.5);
            double b = ((f10 - f00) / (high - low)) - (d * 0.25);
            double c = ((f01 - f00) / 0.5) - (d * low);
            double a = f00 - (b * low) - (c * 0.25) - (d * low * 0.25);
            SlotForm form = general with
            {
                Kind = trimmer < 0 ? SlotFormKind.Affine : SlotFormKind.Trimmer,
                Parameter = parameter,
                Trimmer = trimmer,
                A = a,
                B = parameter < 0 ? 0 : b,
                C = trimmer < 0 ? 0 : c,
                D = parameter < 0 || trimmer < 0 ? 0 : d,
            };
            if (trimmer >= 0)
            {
                // Where the wiper stands at an end, something may be left that is no less for a smaller part.
                double end = Math.Min(At(low, 0), At(low, 1));
                form = form with { Floor = end > 0 && end == Math.Min(At(high, 0), At(high, 1)) ? end : double.NegativeInfinity };
            }

            ReadOnlySpan<(double Value, double Position)> tries = [(0.31, 0.0), (0.77, 1.0), (0.05, 0.13), (1.2, 0.61), (-0.3, 0.91), (0.5, 0.5)];
            foreach ((double share, double position) in tries)
            {
                double value = low + (share * (high - low));
                double law = At(value, position);
                double fit = form.Value(value, position);
                if (!(Math.Abs(law - fit) <= Fits * Math.Max(Math.Abs(law), Math.Abs(f11))))
                {
                    return general;
                }
            }

            return form;
        }
    }

    /// <summary>The slot's value; of no meaning for a general form.</summary>
    public double Value(double parameter, double position) => Math.Max(Floor, A + (B * parameter) + ((C + (D * parameter)) * position));

    /// <summary>What a separable form has before its temperature.</summary>
    public double Straight(double parameter, double other) => A + (B * parameter) + (C * other);

    /// <summary>The form of a law that is a straight function of at most two parameters times a function of one temperature; null when it is not.</summary>
    private static SlotForm? FindSeparable(SlotForm general, UnitState.Of condition, UnitState sample, Model model)
    {
        Law law = general.Binding.Law;
        int[] varying = [.. general.Binding.Parameters.Where(p => Varies(model, p))];
        if (varying.Length > 2)
        {
            return null;
        }

        double[] kept = [.. varying.Select(p => sample.Values[p])];
        double celsius = sample.Condition(condition)[0];
        (int first, int second) = (varying.Length > 0 ? varying[0] : -1, varying.Length > 1 ? varying[1] : -1);
        double Range(int parameter) => parameter < 0 ? 0 : Math.Max(model.Parameters.High(parameter) - model.Parameters.Low(parameter), Math.Abs(sample.Values[parameter]) * 0.01);
        (double rangeA, double rangeB) = (Range(first), Range(second));
        SlotForm? found = Fit();
        for (int i = 0; i < varying.Length; i++)
        {
            sample.Values[varying[i]] = kept[i];
        }

        sample.Condition(condition)[0] = celsius;
        return found;

        double At(double shareA, double shareB, double temperature)
        {
            if (first >= 0)
            {
                sample.Values[first] = kept[0] + (shareA * rangeA);
            }

            if (second >= 0)
            {
                sample.Values[second] = kept[1] + (shareB * rangeB);
            }

            sample.Condition(condition)[0] = temperature;
            return law(sample);
        }

        SlotForm? Fit()
        {
            double middle = At(0, 0, celsius);
            double slopeA = first < 0 ? 0 : (At(0.5, 0, celsius) - At(-0.5, 0, celsius)) / rangeA;
            double slopeB = second < 0 ? 0 : (At(0, 0.5, celsius) - At(0, -0.5, celsius)) / rangeB;
            SlotForm form = general with
            {
                Kind = SlotFormKind.Separable,
                Parameter = first,
                Trimmer = second,
                A = middle - (slopeA * (first < 0 ? 0 : kept[0])) - (slopeB * (second < 0 ? 0 : kept[1])),
                B = slopeA,
                C = slopeB,
            };
            double size = Math.Abs(middle) + Math.Abs(slopeA * rangeA) + Math.Abs(slopeB * rangeB);
            if (!(size > 0) || middle == 0)
            {
                return null;
            }

            foreach ((double a, double b, double shift) in (ReadOnlySpan<(double, double, double)>)[(0.3, -0.4, 0), (-0.6, 0.9, 17.5), (1.1, 0.2, -31), (0, 0, 8.25), (-0.2, -1.3, 44)])
            {
                double whole = At(a, b, celsius + shift);
                double factor = At(0, 0, celsius + shift) / middle;
                double fit = form.Straight(first < 0 ? 0 : kept[0] + (a * rangeA), second < 0 ? 0 : kept[1] + (b * rangeB)) * factor;
                if (!(Math.Abs(whole - fit) <= 8 * Fits * size * Math.Abs(factor)))
                {
                    return null;
                }
            }

            return form;
        }
    }

    /// <summary>Whether a parameter is another in another unit, or at another temperature.</summary>
    public static bool Varies(Model model, int parameter) =>
        model.Parameters.High(parameter) > model.Parameters.Low(parameter) || model.Parameters[parameter].Quantity.Drift > 0 || model.Parameters[parameter].Quantity.SignedDrift != 0;

    /// <summary>Whether a law goes straight with the measurand, at the sample's own process temperature and age and at others.</summary>
    private static bool IsLineOverMeasurand(Law law, UnitState sample, Specification specification)
    {
        (double measurand, double process, double age) = (sample.Measurand, sample.ProcessCelsius, sample.AgeSeconds);
        bool isLine = true;
        foreach ((double celsius, double seconds) in (ReadOnlySpan<(double, double)>)[(process, age), (process + 7.25, age + 1e5), (process - 11.5, age + 3e6)])
        {
            (sample.ProcessCelsius, sample.AgeSeconds) = (celsius, seconds);
            double low = At(specification.Range.Low);
            double high = At(specification.Range.High);
            foreach (double share in (ReadOnlySpan<double>)[-0.25, 0.13, 0.5, 0.71, 1.2])
            {
                double straight = low + (share * (high - low));
                isLine &= Math.Abs(At(specification.Range.Low + (share * specification.Range.Width)) - straight) <= 8 * Fits * Math.Max(Math.Abs(low), Math.Abs(high));
            }
        }

        (sample.Measurand, sample.ProcessCelsius, sample.AgeSeconds) = (measurand, process, age);
        return isLine;

        double At(double x)
        {
            sample.Measurand = x;
            return law(sample);
        }
    }

    /// <summary>Conditions that move a law, by trying. The drift of parameters with ambient temperature is the parameters' matter: the sample has none.</summary>
    private static HashSet<UnitState.Of> DependsOn(Law law, UnitState sample)
    {
        HashSet<UnitState.Of> depends = [];
        foreach (UnitState.Of condition in Enum.GetValues<UnitState.Of>())
        {
            Span<double> at = sample.Condition(condition);
            double kept = at[0];
            double before = law(sample);
            foreach (double to in (ReadOnlySpan<double>)[kept + 1.375, kept - 2.25, (kept * 1.0625) + 1e-4, 0.3])
            {
                at[0] = to;

                // NaN where there was a number, or the other way, is a dependence too.
                if (!law(sample).Equals(before))
                {
                    depends.Add(condition);
                }
            }

            at[0] = kept;
        }

        return depends;
    }
}
