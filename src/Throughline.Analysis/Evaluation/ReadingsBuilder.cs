using System.Collections.Immutable;
using Throughline.Instruments;

namespace Throughline.Analysis;

/// <summary>Makes the readings table of a model.</summary>
internal static class ReadingsBuilder
{
    public static ReadingsTable Build(Evaluator evaluator, IReadOnlyList<double>? measurands, Conditions? conditions)
    {
        Specification specification = evaluator.Instrument.Specification;
        Conditions at = conditions ?? Reference(evaluator);
        IReadOnlyList<double> points = measurands ?? DefaultPoints(specification);
        ImmutableArray<ReadingsRow>.Builder rows = ImmutableArray.CreateBuilder<ReadingsRow>();
        foreach (double x in points)
        {
            UnitState state = evaluator.NewState();
            Apply(evaluator, state, at);
            state.Measurand = x;
            ChainPoint point = evaluator.Chain(state);
            rows.Add(new ReadingsRow([.. Values(evaluator, point)], point.Remark));
        }

        ImmutableArray<ReadingsColumn> columns = [.. Columns(evaluator.Model).Select(c => c.Column)];
        int decimals = points.Select(WrittenDecimals).DefaultIfEmpty().Max();
        return new ReadingsTable(at, columns.SetItem(0, columns[0] with { Decimals = Math.Max(columns[0].Decimals, decimals) }), rows.ToImmutable());
    }

    /// <summary>25 °C where it is rated, stated supplies, load in the middle of its range.</summary>
    public static Conditions Reference(Evaluator evaluator)
    {
        UnitState state = evaluator.Nominal;
        return new Conditions(state.AmbientCelsius, state.ProcessCelsius, 0, evaluator.Instrument.Loop?.OhmsOf(state.Burden) ?? 0);
    }

    /// <summary>The range's ends and quarters.</summary>
    public static ImmutableArray<double> DefaultPoints(Specification specification) =>
        [.. Enumerable.Range(0, 5).Select(i => specification.Range.Low + (specification.Range.Width * i / 4))];

    public static void Apply(Evaluator evaluator, UnitState state, Conditions conditions)
    {
        state.AmbientCelsius = conditions.Ambient;
        state.ProcessCelsius = conditions.Process;
        state.Burden = evaluator.Instrument.Loop?.BurdenOf(conditions.Load) ?? 0;
        state.AgeSeconds = conditions.AgeSeconds;
        foreach (Parameter p in evaluator.Model.OutsideSupplies().Where(p => p.Quantity.Dimension == Dimension.Voltage))
        {
            int index = evaluator.Model.Parameters.IndexOf(p);
            double end = conditions.SupplyShift >= 0 ? evaluator.Model.Parameters.High(index) : evaluator.Model.Parameters.Low(index);
            state.Values[index] = p.Quantity.Value + (Math.Abs(conditions.SupplyShift) * (end - p.Quantity.Value));
        }
    }

    /// <summary>Columns with the stage that each belongs to.</summary>
    public static IEnumerable<(string Stage, ReadingsColumn Column)> Columns(Model model)
    {
        Specification s = model.Instrument.Specification;
        int decimals = Decimals(s.DisplayStep?.Value ?? s.Range.Width / 1000);
        yield return ("sensor", new ReadingsColumn(s.Measurand.Value, s.Unit, decimals, 1, s.Unit));
        yield return ("sensor", model.Instrument.Sensor.SignalKind switch
        {
            SignalKind.Voltage => new ReadingsColumn(model.Instrument.Sensor.Kind, "V", 2, 1e-3, "mV"),
            SignalKind.Resistance => new ReadingsColumn(model.Instrument.Sensor.Kind, "Ω", 2, 1, "Ω"),
            SignalKind.Current => new ReadingsColumn(model.Instrument.Sensor.Kind, "A", 3, 1e-3, "mA"),
            _ => new ReadingsColumn(model.Instrument.Sensor.Kind, "V/V", 4, 1e-3, "mV/V"),
        });
        foreach ((CircuitStage stage, TestPoint point) in model.TestPoints)
        {
            yield return (stage.Name.Value, new ReadingsColumn(point.Name.Value, "V", 4, 1, "V"));
        }

        if (model.Converter is { } adc)
        {
            yield return (adc.Name.Value, new ReadingsColumn("code", "", 0, 1, ""));
            yield return (model.Arithmetic?.Name.Value ?? adc.Name.Value, new ReadingsColumn("display", s.Unit, decimals, 1, s.Unit));
        }

        if (model.OutputConverter is { } dac)
        {
            yield return (dac.Name.Value, new ReadingsColumn("output code", "", 0, 1, ""));
        }

        if (model.Instrument.Loop?.Signal is { } signal)
        {
            yield return (signal.Place, new ReadingsColumn(signal.Place, signal.Unit, signal.ShownDecimals + 1, signal.ShownScale, signal.ShownUnit));
        }
    }

    public static IEnumerable<double> Values(Evaluator evaluator, ChainPoint point)
    {
        yield return point.Measurand;
        yield return point.Signal;
        foreach (double volts in point.TestPoints)
        {
            yield return volts;
        }

        if (evaluator.Model.Converter is not null)
        {
            yield return point.Code;
            yield return point.Display;
        }

        if (evaluator.Model.OutputConverter is not null)
        {
            yield return point.OutputCode;
        }

        if (evaluator.Instrument.Loop is not null)
        {
            yield return point.LoopValue;
        }
    }

    /// <summary>Decimals that say a value of the measurand as it was asked for: 437.5 where the display steps by 1, too. At most 6.</summary>
    private static int WrittenDecimals(double value)
    {
        int decimals = 0;
        while (decimals < 6 && Math.Abs(value - Math.Round(value, decimals)) > 1e-9 * Math.Max(1, Math.Abs(value)))
        {
            decimals++;
        }

        return decimals;
    }

    private static int Decimals(double step) => Math.Clamp((int)Math.Ceiling(-Math.Log10(step) - 1e-9), 0, 6);
}
