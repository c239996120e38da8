using System.Globalization;
using System.Runtime.CompilerServices;

namespace Throughline.Testing;

/// <summary>
/// With <c>THROUGHLINE_TEST_CULTURE=comma</c> every thread of the test run writes 0.5 as <c>0,5</c> unless told otherwise, as on half of the world's
/// machines. The culture is made by hand because the globalization data that named cultures need are left out.
/// </summary>
internal static class CommaCulture
{
    [ModuleInitializer]
    internal static void Apply()
    {
        if (Environment.GetEnvironmentVariable("THROUGHLINE_TEST_CULTURE") != "comma")
        {
            return;
        }

        CultureInfo culture = (CultureInfo)CultureInfo.InvariantCulture.Clone();
        culture.NumberFormat.NumberDecimalSeparator = ",";
        culture.NumberFormat.NumberGroupSeparator = ".";
        culture.NumberFormat.PercentDecimalSeparator = ",";
        culture.NumberFormat.PercentGroupSeparator = ".";
        culture.NumberFormat.NegativeSign = "\u2212";
        culture.TextInfo.ListSeparator = ";";
        CultureInfo.CurrentCulture = culture;
        CultureInfo.DefaultThreadCurrentCulture = culture;
    }
}
