using System.Collections.Immutable;
using System.Globalization;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Everything in an instrument, around it and on its bench that makes a reading differ from the truth, except for what rounds it.</summary>
internal static class Contributions
{
    public static ImmutableArray<Contribution> Of(Model model)
    {
        Instrument instrument = model.Instrument;
        SpreadSection spread = instrument.Spread;
        HashSet<Parameter> outside = [.. model.OutsideSupplies()];
        List<Contribution> all = [];
        for (int i = 0; i < model.Parameters.Count; i++)
        {
            Parameter p = model.Parameters[i];
            Quantity q = p.Quantity;
            string stage = model.PlaceOf(p.Owner);
            string unit = QuantityText.UnitOf(q.Dimension);
            double low = model.Parameters.Low(i);
            double high = model.Parameters.High(i);
            if (high > low)
            {
                bool isOutside = outside.Contains(p);
                Spread shape = isOutside ? spread.OfSupply(p) : spread.OfValue(p);
                Add(p.ToString(), p.Owner, stage, unit, Between(shape, low, high), q.Value, Math.Max(high - q.Value, q.Value - low),
                    isOutside ? ContributionTarget.OutsideSupply : ContributionTarget.Value, i, q.Span);
            }

            if (q.Drift > 0)
            {
                string perKelvin = unit.Length > 0 ? unit + "/K" : "1/K";
                Add($"{p} drift", p.Owner, stage, perKelvin, Between(spread.OfDrift(p), -q.Drift, q.Drift), 0, q.Drift, ContributionTarget.Drift, i, q.Span);
            }
        }

        AddBend(model.Converter?.Nonlinearity, 0);
        AddBend(model.OutputConverter?.Nonlinearity, 1);
        Specification s = instrument.Specification;
        AddCondition("ambient temperature", s.Ambient, UnitState.ReferenceCelsius, "°C", UnitState.Of.Ambient);
        AddCondition("process temperature", s.Process, Math.Clamp(UnitState.ReferenceCelsius, s.Process.Low, s.Process.High), "°C", UnitState.Of.Process);
        if (s.CalibrationInterval is { Value: > 0 } interval)
        {
            Add("time since calibration", "conditions", "instrument", "s", new RectangularDistribution(interval.Value / 2, interval.Value / 2), 0, interval.Value,
                ContributionTarget.Condition, (int)UnitState.Of.Age, interval.Span);
        }

        if (instrument.Loop is { Load.Width: > 0 } loop)
        {
            AddCondition(loop.Signal.LoadWord, loop.Burden, loop.Burden.Middle, loop.Signal.IsVoltage ? "S" : "Ω", UnitState.Of.Load);
        }

        if (instrument.Calibration is { Temperature: { Width: > 0 } standards } && Array.Exists([.. instrument.Calibration.Standards], s => s.Table is not null || s.Buffer is not null))
        {
            Add("temperature of the standards", "calibration", "calibration", "°C", Between(spread.Conditions, standards.Low, standards.High), standards.Middle, standards.Width / 2,
                ContributionTarget.StandardTemperature, 0, standards.Span);
        }

        return [.. all];

        void AddBend(Parameter? nonlinearity, int index)
        {
            if (nonlinearity is { Quantity.Tolerance: > 0 })
            {
                Add(nonlinearity + " bend", nonlinearity.Owner, model.PlaceOf(nonlinearity.Owner), "", new RectangularDistribution(0, 1), 0, 1,
                    ContributionTarget.Bend, index, nonlinearity.Quantity.Span);
            }
        }

        void AddCondition(string name, QuantityRange range, double centre, string unit, UnitState.Of condition)
        {
            if (range.Width > 0)
            {
                Add(name, "conditions", "instrument", unit, Between(spread.OfCondition(name), range.Low, range.High), centre,
                    Math.Max(range.High - centre, centre - range.Low), ContributionTarget.Condition, (int)condition, range.Span);
            }
        }

        void Add(
            string name, string owner, string stage, string unit, Distribution distribution, double centre, double limit, ContributionTarget target, int index, SourceSpan span) =>
            all.Add(new Contribution(Unique(name), owner, stage, unit, distribution, centre, target, index, span) { Limit = limit });

        // Two parameters of one part may have the same name; their draws must not be the same.
        string Unique(string name)
        {
            int n = 2;
            string unique = name;
            while (all.Exists(c => c.Name == unique))
            {
                unique = string.Create(CultureInfo.InvariantCulture, $"{name} {n++}");
            }

            return unique;
        }
    }

    /// <summary>The distribution of a shape between two limits.</summary>
    internal static Distribution Between(Spread spread, double low, double high)
    {
        double middle = (low + high) / 2;
        double half = (high - low) / 2;
        return spread.Shape switch
        {
            SpreadShape.Triangular => new TriangularDistribution(middle, half),
            SpreadShape.Arcsine => new ArcsineDistribution(middle, half),
            SpreadShape.TwoPoint => new TwoPointDistribution(middle, half),
            SpreadShape.Normal => new NormalDistribution(middle, half / spread.K),
            SpreadShape.SortedNormal => new TruncatedNormalDistribution(middle, half / spread.K, spread.K),
            _ => new RectangularDistribution(middle, half),
        };
    }
}
