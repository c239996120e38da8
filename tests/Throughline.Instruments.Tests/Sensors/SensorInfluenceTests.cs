using Xunit;
using static Throughline.Instruments.Tests.Sensors.SensorBench;

namespace Throughline.Instruments.Tests.Sensors;

/// <summary>The influences against worked cases: lead resistance, terminals, missing compensation, drift.</summary>
public class SensorInfluenceTests
{
    private static SensorInfluence Only(Sensor sensor, Instrument instrument) => Assert.Single(sensor.Influences(instrument));

    [Theory] // Worked by IEC 60751: 2.0 Ω in the loop of a Pt100 is 5.15 °C at 20 °C and 5.53 °C at 250 °C, a tenth of it on a Pt1000
    [InlineData(100, 20, 5.15)]
    [InlineData(100, 250, 5.53)]
    [InlineData(1000, 20, 0.51)]
    [InlineData(1000, 250, 0.55)]
    public void LeadResistance_OfTwoWires_IsTheWorkedError(double ohms, double celsius, double error)
    {
        PlatinumSensor sensor = Platinum(ohms, 2, 1.0);
        SensorInfluence influence = Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 20, 250)));
        Assert.Equal("lead resistance", influence.Name);
        Assert.Contains("2 Ω of wire", influence.Statement, StringComparison.Ordinal);
        Assert.Equal(error, influence.Shift(celsius), 0.0051);
    }

    [Fact] // The same: a fixed subtraction set at the low end leaves 0.4 °C at the high end
    public void LeadResistance_AfterAFixedSubtraction_LeavesTheCurvature()
    {
        PlatinumSensor sensor = Platinum(100, 2, 1.0);
        SensorInfluence influence = Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 20, 250)));
        Assert.Equal(0, influence.Residual!.Value.Remains(20), 1e-12);
        Assert.Equal(0.4, influence.Residual.Value.Remains(250), 0.05);
    }

    [Fact] // Three wires of 3.5 Ω, one core 1 % off: 0.09 °C at 100 °C (worked); both cores by 1 % each is twice that
    public void LeadMismatch_OfThreeWires_IsTheWorkedError()
    {
        PlatinumSensor sensor = Platinum(100, 3, 3.5, 0.005);
        SensorInfluence influence = Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 0, 100)));
        Assert.Equal("lead mismatch", influence.Name);
        Assert.Equal(0.092, influence.Shift(100), 0.0006);
    }

    [Theory]
    [InlineData(2, 0)]
    [InlineData(3, 3.5)]
    [InlineData(4, 3.5)]
    public void Leads_ThatDoNothing_AreNoInfluence(int wires, double lead)
    {
        PlatinumSensor sensor = Platinum(100, wires, lead);
        Assert.Empty(sensor.Influences(Instrument(sensor, "°C", Range(Dimension.Temperature, 0, 100))));
    }

    [Fact] // IEC 60584-1, type K, printed (from memory) to 0.001 mV: 1.000 at 25, 1.407 at 35, 7.340 at 180, 7.739 at 190, 8.138 at 200 °C. Terminals at 35,
           // 25 assumed: 8.138 − 1.407 + 1.000 = 7.731 mV, which is 189.8 °C: 10.2 °C too low. Three roundings of 0.0005 mV are 0.04 °C
    public void TerminalTemperature_AssumedAnother_IsTheErrorOfTheTables()
    {
        ThermocoupleSensor sensor = Couple(ColdJunction.Assumed, terminals: Exact("terminal temperature", Dimension.Temperature, 35));
        SensorInfluence influence = Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 0, 400)));
        Assert.Equal("terminal temperature", influence.Name);
        Assert.Equal("terminals at 35 °C, 25 °C assumed", influence.Statement);
        double byTables = 180 + 10 * (8.138 - 1.407 + 1.000 - 7.340) / (7.739 - 7.340) - 200;
        Assert.Equal(byTables, influence.Shift(200), 0.05);
    }

    [Fact] // The same couple, temperatures added: 8.138 − 1.407 = 6.731 mV; 6.540 at 160 and 6.941 at 170 °C (printed, from memory) make it 164.8 °C, and 35 more 199.8 °C
    public void TemperaturesAdded_IsTheErrorOfTheTables()
    {
        ThermocoupleSensor sensor = Couple(ColdJunction.TemperaturesAdded, terminals: Exact("terminal temperature", Dimension.Temperature, 35));
        SensorInfluence influence = Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 0, 400)));
        Assert.Equal("temperatures added", influence.Name);
        double byTables = 160 + 10 * (8.138 - 1.407 - 6.540) / (6.941 - 6.540) + 35 - 200;
        Assert.Equal(byTables, influence.Shift(200), 0.05);
    }

    [Theory] // Terminals at 25 °C, temperatures added (worked from the tables; the rows are in sensors-tc-cjc-check.csv)
    [InlineData('K', 100, 0.89)]
    [InlineData('K', 1000, -0.57)]
    [InlineData('S', 1000, 12.62)]
    [InlineData('B', 1000, 25.27)]
    public void TemperaturesAdded_ByType_IsTheWorkedError(char type, double celsius, double error)
    {
        ThermocoupleSensor sensor = Couple(ColdJunction.TemperaturesAdded, type);
        Assert.Equal(error, Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 0, 1000))).Shift(celsius), 0.0051);
    }

    [Fact] // 1 K at the terminals is 1.04 K (K) and 0.52 K (S) at 1000 °C (worked from the tables)
    public void TerminalTemperature_Measured_ShiftsByItsError()
    {
        foreach ((char type, double error) in new[] { ('K', 1.04), ('S', 0.52) })
        {
            ThermocoupleSensor sensor = Couple(ColdJunction.Measured, type, error: 1);
            double shift = Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 0, 1000))).Shift(1000);
            Assert.Equal(error, Math.Abs(shift), 0.0051);
        }
    }

    [Fact]
    public void TerminalTemperature_OverTheAmbientRange_TakesTheWorseEnd()
    {
        ThermocoupleSensor sensor = Couple(ColdJunction.Assumed);
        SensorInfluence influence = Only(sensor, Instrument(sensor, "°C", Range(Dimension.Temperature, 0, 400), ambient: Range(Dimension.Temperature, 5, 30)));
        Assert.InRange(influence.Shift(200), 19, 21);
    }

    [Theory] // Worked: calibrated at 25 °C, slope held. pH 4.00 at 10 °C reads 4.15, pH 10.00 at 5 °C reads 9.80, pH 4.00 at 40 °C reads 3.85, pH 7 no error
    [InlineData(10, 4.00, 4.15)]
    [InlineData(5, 10.00, 9.80)]
    [InlineData(40, 4.00, 3.85)]
    [InlineData(5, 7.00, 7.00)]
    public void NotCompensated_AtOneTemperature_ReadsTheWorkedPh(double celsius, double ph, double read)
    {
        GlassElectrode sensor = Glass() with { ZeroDrift = null };
        SensorInfluence influence = Only(sensor, Instrument(sensor, "pH", Range(Dimension.Acidity, 0, 14), process: Range(Dimension.Temperature, celsius, celsius), assumed: 25));
        Assert.Equal("process temperature not compensated", influence.Name);
        Assert.Equal(read, ph + influence.Shift(ph), 0.0051);
    }

    [Fact] // 5 to 40 °C: at pH 4 the warm end moves it by −0.151, the cold end by +0.201
    public void NotCompensated_OverARange_TakesTheWorseEnd()
    {
        GlassElectrode sensor = Glass() with { ZeroDrift = null };
        SensorInfluence influence = Only(sensor, Instrument(sensor, "pH", Range(Dimension.Acidity, 0, 14), process: Range(Dimension.Temperature, 5, 40), assumed: 25));
        Assert.Equal(3 * (1 - 55.19092 / 59.15935), influence.Shift(4), 1e-5);
        Assert.Contains("process at 5 .. 40 °C", influence.Statement, StringComparison.Ordinal);
    }

    [Fact]
    public void Compensated_IsNoInfluence()
    {
        GlassElectrode sensor = Glass() with { ZeroDrift = null };
        Assert.Empty(sensor.Influences(Instrument(sensor, "pH", Range(Dimension.Acidity, 0, 14), process: Range(Dimension.Temperature, 5, 40))));
    }

    [Fact] // 0.02 pH/week over 28 days is 0.08 pH
    public void Drift_UntilTheNextCalibration_IsRateTimesInterval()
    {
        GlassElectrode sensor = Glass();
        SensorInfluence influence = Only(sensor, Instrument(sensor, "pH", Range(Dimension.Acidity, 0, 14), interval: Quantity.Exact(Dimension.Time, 28 * 86400)));
        Assert.Equal(0.08, influence.Shift(5), 1e-12);
        Assert.Empty(sensor.Influences(Instrument(sensor, "pH", Range(Dimension.Acidity, 0, 14))));
    }

    [Fact] // 1 mV is 4.0 % of a singly charged ion's concentration (worked); slope 0.97 makes it 4.1 %
    public void Drift_OfAnIonSelectiveElectrode_IsRelative()
    {
        IonSelectiveElectrode sensor = IonSelective(1);
        SensorInfluence influence = Only(sensor, Instrument(sensor, "mmol/L", Range(Dimension.Concentration, 1, 100), interval: Quantity.Exact(Dimension.Time, 86400)));
        Assert.Equal(10 * (Math.Pow(10, 1 / (0.97 * 59.159)) - 1), influence.Shift(10), 1e-4);
    }

    [Fact] // c + L on a line read as c
    public void DetectionLimit_ReadsHighByItself()
    {
        IonSelectiveElectrode sensor = IonSelective(1, 0.05) with { PotentialDrift = null };
        SensorInfluence influence = Only(sensor, Instrument(sensor, "mmol/L", Range(Dimension.Concentration, 1, 100)));
        double signal = sensor.Signal(new BenchState { Measurand = 0.2 });
        Assert.Equal(0.25, sensor.MeasurandOf(signal, 25), 1e-12);
        Assert.Equal(0.05, influence.Shift(0.2), 1e-12);
    }
}
